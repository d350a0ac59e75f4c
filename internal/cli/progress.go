package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"cardback/internal/literal"

	"golang.org/x/term"
)

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
// and since when, and how far it is where the length of the work is known; in a pipe it
// says nothing. It is safe for use by several goroutines, and a nil status
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

// counted begins work of so many steps, and returns what tells that one of them is done.
func (s *status) counted(what string, total int) func(step string) {
	if s == nil {
		return func(string) {}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.name, s.at, s.since = what, fmt.Sprintf("0 of %d", total), time.Now()
	done := 0
	return func(step string) {
		s.mu.Lock()
		defer s.mu.Unlock()
		done++
		s.at = fmt.Sprintf("%d of %d, %s", done, total, literal.Line(step))
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
