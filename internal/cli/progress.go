package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"cardback/internal/literal"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows how far a long piece of work is, on a terminal; in a pipe it
// says nothing. It is safe for use by several goroutines.
type progress struct{ bar *progressbar.ProgressBar }

// newProgress starts a display of total steps on w.
func newProgress(w io.Writer, what string, total int) *progress {
	f, ok := terminal(w)
	if !ok || total == 0 {
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

func terminal(w io.Writer) (*os.File, bool) {
	if p, ok := w.(*literal.Writer); ok { // what is painted over again has escapes of its own
		w = p.Unwrap()
	}
	f, ok := w.(*os.File)
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// statusAfter is how long work stays silent: what is done within a second needs
// no display.
const statusAfter = time.Second

// status is one line on a terminal that says what is being done to which file,
// and since when; in a pipe it says nothing. It is for work whose length is not
// known beforehand. It is safe for use by several goroutines, and a nil status
// says nothing.
type status struct {
	mu       sync.Mutex
	w        io.Writer
	columns  func() int
	name, at string
	since    time.Time
	shown    string // on the terminal now
	stop     chan struct{}
	stopped  sync.WaitGroup
}

func newStatus(w io.Writer) *status {
	f, ok := terminal(w)
	if !ok {
		return nil
	}
	s := &status{w: f, stop: make(chan struct{}), columns: func() int {
		width, _, err := term.GetSize(int(f.Fd()))
		if err != nil {
			return 80
		}
		return width
	}}
	s.stopped.Go(func() {
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case now := <-tick.C:
				s.show(now)
			case <-s.stop:
				return
			}
		}
	})
	return s
}

// file begins with file i of n.
func (s *status) file(i, n int, path string) {
	if s == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.name, s.at, s.since = literal.Line(filepath.Base(path)), "", time.Now()
	if n > 1 {
		s.name = fmt.Sprintf("%d of %d, %s", i+1, n, s.name)
	}
}

// step says what is done now: "reading".
func (s *status) step(at string) {
	if s == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.at = at
}

func (s *status) show(now time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.name == "" || now.Sub(s.since) < statusAfter {
		return
	}
	runes := []rune(fmt.Sprintf("%3d s  %s: %s", int(now.Sub(s.since).Seconds()), s.name, s.at))
	if most := s.columns() - 1; most > 0 && len(runes) > most {
		runes = runes[:most]
	}
	if line := string(runes); line != s.shown {
		fmt.Fprintf(s.w, "\r\x1b[K%s", line)
		s.shown = line
	}
}

// clear takes the line away, so that the answer can be printed.
func (s *status) clear() {
	if s == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.name = ""
	if s.shown != "" {
		fmt.Fprint(s.w, "\r\x1b[K")
		s.shown = ""
	}
}

func (s *status) done() {
	if s == nil {
		return
	}
	close(s.stop)
	s.stopped.Wait()
	s.clear()
}
