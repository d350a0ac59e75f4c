package cli

import (
	"os"
	"sync"
)

// DemoCache is the cache that the tests of the demo share: what TestDemo measured the
// command scripts find. It goes when the tests end.
var DemoCache = sync.OnceValue(func() string {
	dir, err := os.MkdirTemp("", "demo-cache-")
	if err != nil {
		panic(err)
	}
	return dir
})
