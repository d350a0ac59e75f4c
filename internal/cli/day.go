package cli

import (
	"fmt"
	"os"
	"strconv"
	"time"
)

// today is the day of now, at midnight UTC as dates in the notes are. A run that is to be
// the same every time sets SOURCE_DATE_EPOCH, whole seconds since 1970.
func today(now time.Time) (time.Time, error) {
	if epoch, ok := os.LookupEnv("SOURCE_DATE_EPOCH"); ok && epoch != "" {
		n, err := strconv.ParseInt(epoch, 10, 64)
		if err != nil || n < 0 || n > 1<<37 { // some 4000 years
			return now, fmt.Errorf("SOURCE_DATE_EPOCH is %q; expected whole seconds since 1970-01-01 UTC", epoch)
		}
		now = time.Unix(n, 0).UTC()
	}
	y, m, d := now.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC), nil
}
