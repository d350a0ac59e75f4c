package cli_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"cardback/internal/cli"
	"cardback/internal/longrun"
)

// tidily runs the tests and removes what they share.
type tidily struct{ *testing.M }

func (m tidily) Run() int {
	defer os.RemoveAll(cli.DemoCache())
	return m.M.Run()
}

func TestMain(m *testing.M) {
	testscript.Main(tidily{m}, map[string]func(){
		"cardback": func() {
			os.Exit(cli.Main(os.Args[1:], os.Stdout, os.Stderr))
		},
	})
}

func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join(root, "testdata", "cli"),
		Setup: func(env *testscript.Env) error {
			env.Setenv("DEMO", filepath.Join(root, "content"))
			env.Setenv("DEMOCACHE", cli.DemoCache())
			return nil
		},
		Cmds: scriptCommands,
		Condition: func(name string) (bool, error) {
			if name != "long" {
				return false, fmt.Errorf("condition %q is not known", name)
			}
			return longrun.Asked(), nil
		},
		RequireExplicitExec: true,
	})
}
