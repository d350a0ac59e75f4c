// Cardback turns a folder of part meshes and notes into a published release of
// a printable figure.
package main

import (
	"os"

	"cardback/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdout, os.Stderr)) }
