package words_test

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/words"
)

func TestBesideNeverContradictsItsLimit(t *testing.T) {
	for _, c := range []struct {
		v, limit float64
		want     string
	}{
		{1.9996, 2, "1.9996"},
		{1.997, 2, "1.997"},
		{1.99, 2, "1.99"},
		{2, 2, "2.00"},
		{2.004, 2, "2.004"},
		{2.3999, 2.4, "2.3999"},
		{0.304, 0.3, "0.304"},
		{0.1, 2, "0.10"},
		{1.99999999, 2, "2.000000"},
	} {
		require.Equal(t, c.want, words.Beside(c.v, c.limit, 2), "%v beside %v", c.v, c.limit)
	}
	rapid.Check(t, func(t *rapid.T) {
		limit := math.Round(rapid.Float64Range(0, 50).Draw(t, "limit")*1e4) / 1e4
		off := rapid.Float64Range(2e-6, 1).Draw(t, "off")
		if rapid.Bool().Draw(t, "below") {
			off = -off
		}
		text, err := strconv.ParseFloat(words.Beside(limit+off, limit, 2), 64)
		require.NoError(t, err)
		shown, err := strconv.ParseFloat(words.Plain(limit), 64)
		require.NoError(t, err)
		require.Equal(t, off < 0, text < shown)
		require.Equal(t, off > 0, text > shown)
		require.InDelta(t, limit+off, text, 0.005+1e-9, "no worse than its decimals")
	})
}

func TestSpareRoomIsNeverNothing(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0.00", -0.2: "0.00", 0.0005: "less than 0.001", 0.004: "0.004", 0.0199: "0.01", 0.3: "0.30", 12.999: "12.99", 8.3e-10: "less than 0.001",
	} {
		require.Equal(t, want, words.Spare(v, 2), "%v", v)
	}
	require.Equal(t, "0.03", words.Spare(0.03, 1))
}

func TestBoundsStayBounds(t *testing.T) {
	require.Equal(t, "1.3", words.AtMost(1.21, 1))
	require.Equal(t, "1.2", words.AtMost(1.2, 1))
	require.Equal(t, "1.2", words.AtLeast(1.29, 1))
	require.Equal(t, "0.3", words.AtLeast(0.1+0.2, 1))
	require.Equal(t, "0", words.AtMost(math.Copysign(0, -1), 0))
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		n := rapid.IntRange(0, 4).Draw(t, "decimals")
		most, err := strconv.ParseFloat(words.AtMost(v, n), 64)
		require.NoError(t, err)
		least, err := strconv.ParseFloat(words.AtLeast(v, n), 64)
		require.NoError(t, err)
		hair := 2e-6 * math.Pow10(-n) // what is taken for the last decimal
		require.GreaterOrEqual(t, most, v-hair)
		require.LessOrEqual(t, least, v+hair)
		require.LessOrEqual(t, most-least, math.Pow10(-n)+hair)
	})
}

func TestLongLengthsAreInMetres(t *testing.T) {
	for mm, want := range map[float64]string{10000: "10 m", 1500: "1.5 m", 1000: "1 m", 1234.5: "1234.5 mm", 304.8: "304.8 mm", 999: "999 mm"} {
		require.Equal(t, want, words.Length(mm))
	}
}

func TestPlacesInSmallFilesAreTold(t *testing.T) {
	require.Equal(t, "(0.0, 1.9, 18.4)", words.Place(-0.001, 1.91, 18.37))
	require.Equal(t, "(0.0123, -0.0040, 0.0000)", words.Place(0.0123, -0.004, 0))
	require.Equal(t, "(0.0, 0.0, 0.0)", words.Place(0, 0, 0))
	require.Equal(t, "(0.123, 0.000, 0.000)", words.Place(0.1234, 0, 0))
}

func TestNamesKeepTheirCapitals(t *testing.T) {
	for name, want := range map[string]string{
		"Rigid resin": "rigid resin", "PLA-like": "PLA-like", "ABS-like resin": "ABS-like resin", "Éclair": "éclair",
		"pH paper": "pH paper", "T-slot bar": "T-slot bar", "Semi-flexible": "semi-flexible", "A frame": "A frame", "M3 screw": "M3 screw", "": "", "Brass rod 1.5 mm": "brass rod 1.5 mm",
	} {
		require.Equal(t, want, words.Inside(name))
	}
	require.Equal(t, "Éclair", words.Capital("éclair"))
	require.Equal(t, "", words.Capital(""))
	require.Equal(t, "a, b and c", words.List([]string{"a", "b", "c"}))
	require.Equal(t, "1 shell", words.Count(1, "shell", "shells"))
	require.Equal(t, "0 shells", words.Count(0, "shell", "shells"))
}

func TestFragment(t *testing.T) {
	require.Equal(t, "how-it-goes-together", words.Fragment("How it goes together!"))
	require.Equal(t, "größe", words.Fragment("Größe"))
	require.Equal(t, "section", words.Fragment("?"))
}

func TestNumbersAreRoundedInOneWay(t *testing.T) {
	require.Equal(t, "0.13", words.Fixed(0.1251, 2))
	require.Equal(t, "0.0", words.Fixed(-0.01, 1))
	require.Equal(t, "2.5e+12", words.Fixed(2.5e12, 2))
	require.Equal(t, "100", words.Rounded(100, 2))
	require.Equal(t, "0", words.Rounded(-1e-9, 2))
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{{1234.6, 3, "1235"}, {12.34, 3, "12.3"}, {12, 3, "12"}, {0.012345, 4, "0.01235"}, {-0.5, 2, "-0.5"}, {0, 3, "0"}, {9.999, 3, "10"}, {2e-7, 4, "2e-07"}, {0.000012, 2, "0.000012"}, {1.564345e29, 4, "1.564e+29"}} {
		require.Equal(t, c.want, words.Significant(c.v, c.digits), "%v", c.v)
	}
	for v, want := range map[float64]string{1234.6: "1235", 123.4: "123", 12: "12.0", 1.239: "1.24", 0.5: "0.500", 0.0004: "0.000", 0: "0.00"} {
		require.Equal(t, want, words.Three(v, 3), "%v", v)
	}
	require.Equal(t, "0.50", words.Three(0.5, 2))
	require.Equal(t, "33.3 %", words.Percent(1.0/3, 1))
	require.Equal(t, "22.5°", words.Degrees(22.5))
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		back, err := strconv.ParseFloat(words.Exact(v), 64)
		require.NoError(t, err)
		require.Equal(t, v, back)
	})
}

func TestSizesAndTimes(t *testing.T) {
	for n, want := range map[int64]string{0: "0 bytes", 1023: "1023 bytes", 1024: "1 KiB", 1<<20 - 1: "1024 KiB", 1 << 20: "1.0 MiB", 3 << 19: "1.5 MiB"} {
		require.Equal(t, want, words.Bytes(n))
	}
	for seconds, want := range map[float64]string{0: "", -1: "", 10: "1 min", 3540: "59 min", 3600: "1 h", 8300: "2 h 20 min", 1e300: "35791394 h 10 min"} {
		require.Equal(t, want, words.Duration(seconds), "%v", seconds)
	}
	require.Empty(t, words.Duration(math.NaN()))
	at := time.Date(2026, 3, 5, 23, 0, 0, 0, time.UTC)
	require.Equal(t, "5 March 2026", words.Day(at))
	require.Equal(t, "2026-03-05", words.Date(at))
}

func TestListsAndSentences(t *testing.T) {
	require.Equal(t, "a or b", words.Or([]string{"a", "b"}))
	require.Equal(t, "a", words.Or([]string{"a"}))
	require.Empty(t, words.List(nil))
	require.Equal(t, "It is so.", words.Sentence("it is so"))
	require.Equal(t, "Is it?", words.Sentence("is it?"))
	require.Empty(t, words.Sentence(""))
}
