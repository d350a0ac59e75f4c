// Cardback turns a folder of part meshes and notes into a published release of
// a printable figure.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"cardback/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := cli.Run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
