package cli

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows how far a long piece of work is, on a terminal; in a pipe it
// says nothing. It is safe for use by several goroutines.
type progress struct{ bar *progressbar.ProgressBar }

// newProgress starts a display of total steps on w.
func newProgress(w io.Writer, what string, total int) *progress {
	f, ok := w.(*os.File)
	if !ok || total == 0 || !term.IsTerminal(int(f.Fd())) {
		return &progress{}
	}
	return &progress{progressbar.NewOptions(total,
		progressbar.OptionSetWriter(f),
		progressbar.OptionSetDescription(what),
		progressbar.OptionShowCount(),
		progressbar.OptionSetWidth(24),
		progressbar.OptionClearOnFinish(),
	)}
}

func (p *progress) step(string) {
	if p.bar != nil {
		p.bar.Add(1) // an error here is the terminal's; the work goes on
	}
}

func (p *progress) done() {
	if p.bar != nil {
		p.bar.Finish()
	}
}
