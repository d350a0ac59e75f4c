package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
)

// grace is how long a run that was asked to stop may take to do so. What is at work
// looks up many times a second; only waiting for a file or for whoever reads the answer
// takes longer, and that cannot be cut short from inside. Nothing is lost by ending at
// once: files and sites are put in place whole.
const grace = 3 * time.Second

// Main runs the program as a process does: an interrupt (Ctrl-C) or a SIGTERM asks it
// to stop; a second one, or grace after the first, ends it at once. It returns the exit
// code.
func Main(args []string, stdout, stderr io.Writer) int {
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	defer signal.Stop(signals)
	return interruptible(signals, time.After, stderr, func(ctx context.Context) int { return Run(ctx, args, stdout, stderr) })
}

// codeStopped is the exit code of a run that was ended at once: by custom 128 and the
// number of SIGINT.
const codeStopped = 130

// interruptible runs work until it ends, or until it has been asked to stop twice, or
// after has passed grace since the first time.
func interruptible(signals <-chan os.Signal, after func(time.Duration) <-chan time.Time, stderr io.Writer, work func(ctx context.Context) int) int {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	code := make(chan int, 1)
	go func() { code <- work(ctx) }()
	end := func(why string) int {
		told := make(chan struct{})
		go func() {
			defer close(told)
			fmt.Fprintln(stderr, "cardback: ended at once"+why+"; what was there is as it was")
		}()
		select {
		case <-told:
		case <-after(grace): // nobody reads that either
		}
		return codeStopped
	}
	var late <-chan time.Time
	for {
		select {
		case c := <-code:
			return c
		case <-late:
			return end(", since it still waited for a file or a reader")
		case <-signals:
			if ctx.Err() != nil {
				return end("")
			}
			cancel()
			late = after(grace)
		}
	}
}
