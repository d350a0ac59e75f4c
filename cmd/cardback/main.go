// Cardback turns a folder of part meshes and notes into a published release of
// a printable figure.
package main

import (
	"context"
	"os"
	"os/signal"

	"cardback/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := cli.Run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
