package cli

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// never is a clock that does not move.
func never(time.Duration) <-chan time.Time { return nil }

// atOnce is a clock on which grace is over when it begins.
func atOnce(time.Duration) <-chan time.Time {
	c := make(chan time.Time, 1)
	c <- time.Time{}
	return c
}

func TestTheFirstInterruptAsksTheWorkToStop(t *testing.T) {
	signals := make(chan os.Signal, 2)
	signals <- os.Interrupt
	code := interruptible(signals, never, &bytes.Buffer{}, func(ctx context.Context) int {
		<-ctx.Done()
		return 7
	})
	require.Equal(t, 7, code, "the work's own answer")
}

// deaf is work that waits for what never comes and does not look up.
func deaf(t *testing.T) func(context.Context) int {
	forever := make(chan struct{})
	t.Cleanup(func() { close(forever) })
	return func(context.Context) int {
		<-forever
		return 0
	}
}

func TestTheSecondInterruptEndsTheProgramAtOnce(t *testing.T) {
	signals := make(chan os.Signal, 2)
	signals <- os.Interrupt
	signals <- syscall.SIGTERM
	var told bytes.Buffer
	require.Equal(t, codeStopped, interruptible(signals, never, &told, deaf(t)))
	require.Equal(t, "cardback: ended at once; what was there is as it was\n", told.String())
}

func TestOneInterruptIsHeardWhileBlocked(t *testing.T) {
	signals := make(chan os.Signal, 2)
	signals <- syscall.SIGTERM
	require.Equal(t, codeStopped, interruptible(signals, atOnce, &bytes.Buffer{}, deaf(t)))
}

// The program as a process: it waits to write to a reader that never reads, and hears
// SIGTERM all the same, and a second Ctrl-C at once.
func TestABlockedProcessHearsSignals(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("there are no such signals here")
	}
	self, err := os.Executable()
	require.NoError(t, err)
	program := filepath.Join(t.TempDir(), "cardback") // by its name the test's program knows what to be
	require.NoError(t, os.Symlink(self, program))
	for name, signals := range map[string][]os.Signal{
		"SIGTERM once":  {syscall.SIGTERM},
		"Ctrl-C, twice": {os.Interrupt, os.Interrupt},
	} {
		t.Run(name, func(t *testing.T) {
			r, w, err := os.Pipe()
			require.NoError(t, err)
			defer r.Close()
			fd := int(w.Fd()) // taking it makes writing wait
			require.NoError(t, syscall.SetNonblock(fd, true))
			full := bytes.Repeat([]byte{'.'}, 4096)
			for {
				if _, err := syscall.Write(fd, full); err != nil {
					break // nothing more goes in
				}
			}
			require.NoError(t, syscall.SetNonblock(fd, false))
			stderr, err := os.Create(filepath.Join(t.TempDir(), "stderr"))
			require.NoError(t, err)
			defer stderr.Close()
			cmd := exec.Command(program, "--help")
			cmd.Stdout, cmd.Stderr = w, stderr
			require.NoError(t, cmd.Start())
			w.Close()
			done := make(chan error, 1)
			go func() { done <- cmd.Wait() }()
			// It is not known when the program listens: until it does, a signal would end it by
			// the system's own rule, which is not what is tested.
			select {
			case err := <-done:
				t.Fatalf("it did not wait: %v", err)
			case <-time.After(2 * time.Second):
			}
			began := time.Now()
			for _, s := range signals {
				require.NoError(t, cmd.Process.Signal(s))
				time.Sleep(50 * time.Millisecond) // two of a kind at once are one
			}
			select {
			case err := <-done:
				var exit *exec.ExitError
				require.ErrorAs(t, err, &exit)
				require.Equal(t, codeStopped, exit.ExitCode(), "by its own hand")
				if len(signals) > 1 {
					require.Less(t, time.Since(began), grace, "without waiting")
				}
			case <-time.After(20 * time.Second): // far over grace, for a busy machine
				cmd.Process.Kill()
				t.Fatal("the signal was not heard")
			}
		})
	}
}
