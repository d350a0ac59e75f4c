package hostile

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
)

var update = flag.Bool("update", false, "write testdata/hostile anew")

// program is the built program, made once for all cases.
var program string

func TestMain(m *testing.M) {
	flag.Parse()
	dir, err := os.MkdirTemp("", "hostile-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	program = filepath.Join(dir, "cardback")
	if runtime.GOOS == "windows" {
		program += ".exe"
	}
	build := exec.Command("go", "build", "-o", program, "cardback/cmd/cardback")
	if out, err := build.CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "%s: %v\n%s", build, err, out)
		os.Exit(1)
	}
	code := m.Run()
	_ = os.RemoveAll(dir)
	os.Exit(code)
}

// areas are all cases, by the area that their file cases_*_test.go is named for.
var areas = map[string][]Case{
	"bores":      bores,
	"heavy":      heavy,
	"meshfiles":  meshFiles,
	"notes":      notesAndFolders,
	"photos":     photos,
	"publishing": publishing,
	"searches":   searches,
}

func cases() []Case {
	var out []Case
	for _, area := range slices.Sorted(maps.Keys(areas)) {
		out = append(out, areas[area]...)
	}
	return out
}

// slow are the cases that take more than a second of processor time, most of them what
// their budget allows. Only the long run has them.
var slow = strings.Fields(`
	3mf-a-gigabyte-of-spaces 3mf-many-entries ball-of-30000-hull-points bore-40-holes-in-one-place
	bore-600-tubes-in-each-other bore-cylinder-20000-sides bore-rims-in-vain build-ball-31680-triangles
	coordinates-of-1e30-measured copies-of-one-cube cylinder-of-20000-sides edge-of-20000-triangles fan-is-built
	fit-cylinder-20000-sides-tight frontier-cylinder-20000-sides gauge-ball-a-hair-too-wide
	gauge-cylinder-20000-sides items-of-one-cube large-crossing-triangles nested-shells
	plates-1000-pieces-of-one-part plates-800-pieces-of-40-parts`)

// TestHostileInputsAreAnswered runs every case, but for the slow ones outside the long
// run.
func TestHostileInputsAreAnswered(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range cases() {
		require.Regexp(t, `^[a-z0-9]+(-[a-z0-9]+)*$`, c.Name)
		require.False(t, seen[c.Name], "two cases are named %s", c.Name)
		seen[c.Name] = true
		t.Run(c.Name, func(t *testing.T) {
			if slices.Contains(slow, c.Name) {
				longrun.Only(t, "takes over a second")
			}
			c.run(t)
		})
	}
	for _, name := range slow {
		require.True(t, seen[name], "slow names %s, which is no case", name)
	}
}

func (c Case) run(t *testing.T) {
	d := Dir{t, t.TempDir()}
	c.Make(d)
	if c.Seconds == 0 {
		c.Seconds = usualSeconds
	}
	if c.Megabytes == 0 {
		c.Megabytes = usualMegabytes
	}
	r := runLimited(t, d.Path, c.Seconds, c.Megabytes, c.Args)
	shown := r.said
	if len(shown) > 3000 {
		shown = shown[:2000] + "\n…\n" + shown[len(shown)-1000:]
	}
	require.Empty(t, r.killed, "%s\n%s", strings.Join(c.Args, " "), shown)
	t.Logf("%.1f s, %d MB", r.seconds, r.megabytes)
	assert.Equal(t, c.Exit, r.exit, "exit code of %s\n%s", strings.Join(c.Args, " "), shown)
	assert.NotRegexp(t, `(?m)^(panic: |fatal error: |goroutine \d+ \[)|runtime error`, r.said)
	assert.NotRegexp(t, "[\x00-\x08\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069]", r.said, "control characters reach the terminal")
	require.NotEmpty(t, c.Says, "a case states what must be said")
	for _, want := range c.Says {
		assert.Regexp(t, want, r.said)
	}
	for _, not := range c.Never {
		assert.NotRegexp(t, not, r.said)
	}
	if c.After != nil {
		c.After(t, d)
	}
}

// ran is what came of a command.
type ran struct {
	said      string // on both outputs
	exit      int
	seconds   float64 // of processor time
	megabytes int     // the most that was seen resident; 0 where the system does not tell
	killed    string  // why it was stopped, if it was
}

// runLimited runs the program, and stops it where it takes more than the given
// processor time or resident memory, or four times as long on the clock.
func runLimited(t *testing.T, dir string, seconds, megabytes int, args []string) ran {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), time.Duration(4*seconds)*time.Second)
	defer stop()
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Dir = dir
	cmd.WaitDelay = time.Second
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	require.NoError(t, cmd.Start())
	over := make(chan string, 1)
	done := make(chan struct{})
	most := 0
	go func() {
		defer close(over)
		for tick := time.NewTicker(20 * time.Millisecond); ; {
			select {
			case <-done:
				tick.Stop()
				return
			case <-tick.C:
			}
			most = max(most, mostResident(cmd.Process.Pid))
			if most > megabytes {
				over <- fmt.Sprintf("stopped at %d MB resident; %d are allowed", most, megabytes)
				_ = cmd.Process.Kill()
				return
			}
			if s := processorSeconds(cmd.Process.Pid); s > float64(seconds) {
				over <- fmt.Sprintf("stopped after %.0f s of processor time; %d are allowed", s, seconds)
				_ = cmd.Process.Kill()
				return
			}
		}
	}()
	err := cmd.Wait()
	close(done)
	killed := <-over
	r := ran{said: said.String(), killed: killed, exit: cmd.ProcessState.ExitCode(), megabytes: most}
	r.seconds = (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds()
	if r.killed == "" && ctx.Err() != nil {
		r.killed = fmt.Sprintf("stopped after %d s; it waits for something", 4*seconds)
	}
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) && r.killed == "" {
		require.NoError(t, err)
	}
	return r
}

// kept is the size in bytes up to which a case's inputs are kept in testdata.
const kept = 8 << 10

// TestCorpusIsWhatItsCodeMakes holds testdata/hostile to the cases: a list of each
// area's inputs, and the inputs themselves where they are small.
func TestCorpusIsWhatItsCodeMakes(t *testing.T) {
	const root = "../../testdata/hostile"
	if *update {
		require.NoError(t, os.RemoveAll(root))
	}
	want := map[string]bool{}
	hold := func(t *testing.T, rel string, made []byte) {
		want[filepath.ToSlash(rel)] = true
		at := filepath.Join(root, rel)
		if *update {
			require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
			require.NoError(t, os.WriteFile(at, made, 0o644))
			return
		}
		there, err := os.ReadFile(at)
		require.NoError(t, err, "go test ./internal/hostile -update")
		require.True(t, bytes.Equal(made, there), "%s: go test ./internal/hostile -update", at)
	}
	for area, cases := range areas {
		var list strings.Builder
		for _, c := range cases {
			t.Run(c.Name, func(t *testing.T) {
				fmt.Fprintf(&list, "%s: cardback %s\n", c.Name, printable(strings.Join(c.Args, " ")))
				d := Dir{t, t.TempDir()}
				c.Make(d)
				files, small := inputs(t, d)
				for _, f := range files {
					fmt.Fprintf(&list, "\t%s\n", f)
				}
				if !small {
					return
				}
				require.NoError(t, filepath.WalkDir(d.Path, func(path string, e fs.DirEntry, err error) error {
					if err != nil || !e.Type().IsRegular() {
						return err
					}
					made, err := os.ReadFile(path)
					require.NoError(t, err)
					rel, err := filepath.Rel(d.Path, path)
					require.NoError(t, err)
					hold(t, filepath.Join(c.Name, rel), made)
					return nil
				}))
			})
		}
		hold(t, area+".txt", []byte(list.String()))
	}
	require.NoError(t, filepath.WalkDir(root, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(root, path)
		require.NoError(t, err)
		require.True(t, want[filepath.ToSlash(rel)], "%s belongs to no case: go test ./internal/hostile -update", path)
		return nil
	}))
}

// inputs lists a case's files with their sizes, and says whether all of them may
// be kept in testdata: regular, small, and with names that any system takes.
func inputs(t *testing.T, d Dir) (list []string, small bool) {
	small = true
	total := int64(0)
	count := 0
	sum := sha256.New()
	require.NoError(t, filepath.WalkDir(d.Path, func(path string, e fs.DirEntry, err error) error {
		if path == d.Path {
			return err
		}
		rel, _ := filepath.Rel(d.Path, path)
		if rel = filepath.ToSlash(rel); !plainName.MatchString(rel) {
			small = false
		}
		if err != nil { // a folder that may not be read
			small = false
			list = append(list, printable(rel)+": not readable")
			return fs.SkipDir
		}
		switch info, err := e.Info(); {
		case err != nil:
			return err
		case e.IsDir():
			if entries, err := os.ReadDir(path); err == nil && len(entries) == 0 {
				small = false
				list = append(list, printable(rel)+"/: empty")
			}
		case !e.Type().IsRegular():
			small = false
			list = append(list, fmt.Sprintf("%s: %s", printable(rel), kindOf(e.Type())))
		default:
			count++
			total += info.Size()
			fmt.Fprintf(sum, "%s\x00%d\x00", rel, info.Size())
			if info.Mode().Perm()&0o444 == 0 {
				small = false
			}
			list = append(list, fmt.Sprintf("%s: %d bytes", printable(rel), info.Size()))
		}
		return nil
	}))
	small = small && total <= kept
	if len(list) > 40 {
		list = []string{fmt.Sprintf("%d files, %d bytes; names and sizes: %x", count, total, sum.Sum(nil)[:8])}
		small = false
	}
	return list, small
}

// plainName also leaves out names with a dot before them, such as .git, which a version
// control keeps for itself.
var plainName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*(/[A-Za-z0-9][A-Za-z0-9._-]*)*$`)

func kindOf(m fs.FileMode) string {
	switch {
	case m&fs.ModeSymlink != 0:
		return "a link"
	case m&fs.ModeNamedPipe != 0:
		return "a named pipe"
	case m&fs.ModeSocket != 0:
		return "a socket"
	default:
		return "no regular file"
	}
}

// printable is the text with what is not printable escaped, cut where it is long.
func printable(s string) string {
	q := fmt.Sprintf("%+q", s)
	q = q[1 : len(q)-1]
	if len(q) > 160 {
		q = q[:160] + fmt.Sprintf("… (%d bytes)", len(s))
	}
	return q
}
