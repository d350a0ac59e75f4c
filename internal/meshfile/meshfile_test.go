package meshfile

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/infile"
	"cardback/internal/mesh"
	"cardback/internal/store"
)

// tetrahedron is a binary STL of a corner of a cube, with legs of the given length. Two
// of them have the same size in bytes.
func tetrahedron(t *testing.T, leg float64) []byte {
	t.Helper()
	m := &mesh.Mesh{
		Vertices:  []mesh.Vec{{}, {X: leg}, {Y: leg}, {Z: leg}},
		Triangles: [][3]uint32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}},
	}
	var out bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&out, m, ""))
	return out.Bytes()
}

// bed is a mesh file, a store, and how often the file was opened.
type bed struct {
	path   string
	st     *store.Store
	opened int
}

func newBed(t *testing.T, data []byte) *bed {
	t.Helper()
	b := &bed{path: filepath.Join(t.TempDir(), "any.stl"), st: store.Open(t.TempDir(), "salt")}
	require.NoError(t, os.WriteFile(b.path, data, 0o644))
	return b
}

func (b *bed) place() place {
	p := placeOf(b.path)
	open := p.open
	p.open = func() (*os.File, fs.FileInfo, error) { b.opened++; return open() }
	return p
}

// later is when a file that was just written has long been left alone.
func later() time.Time { return time.Now().Add(time.Hour) }

func (b *bed) look(t *testing.T, now time.Time) *File {
	t.Helper()
	f, err := look(b.place(), nil, b.st, now)
	require.NoError(t, err)
	t.Cleanup(f.Close)
	return f
}

// rewrite puts other bytes into the same file, and the time of modification back. It
// writes until the file system's clock has gone on.
func (b *bed) rewrite(t *testing.T, data []byte) {
	t.Helper()
	before, err := os.Stat(b.path)
	require.NoError(t, err)
	was, ok := identityOf(before)
	if !ok {
		t.Skip("this system says too little of a file to know it by")
	}
	for {
		f, err := os.OpenFile(b.path, os.O_WRONLY, 0)
		require.NoError(t, err)
		_, err = f.Write(data)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		require.NoError(t, os.Chtimes(b.path, before.ModTime(), before.ModTime()))
		after, err := os.Stat(b.path)
		require.NoError(t, err)
		if now, _ := identityOf(after); now.Changed != was.Changed {
			require.Equal(t, was.Size, now.Size)
			require.Equal(t, was.Modified, now.Modified)
			require.Equal(t, was.Inode, now.Inode)
			return
		}
	}
}

func TestAFileThatWasLeftAloneIsNotOpenedAgain(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	first := b.look(t, later())
	require.Equal(t, 1, b.opened)
	second := b.look(t, later())
	require.Equal(t, 1, b.opened)
	require.Equal(t, first.SHA256, second.SHA256)
	require.Equal(t, first.Size, second.Size)
}

// In place, of the same size, with the time of modification set back: the system's own
// time of change tells.
func TestAFileThatWasRewrittenInPlaceIsHashedAgain(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	first := b.look(t, later())
	b.rewrite(t, tetrahedron(t, 2))
	second := b.look(t, later())
	require.Equal(t, 2, b.opened)
	require.NotEqual(t, first.SHA256, second.SHA256)
}

// A file that was changed just now may be changed again within the same step of the file
// system's clock. It is hashed each time until it has been left alone.
func TestAFileThatWasJustWrittenIsHashedAgain(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	for i := range 20 {
		data := tetrahedron(t, float64(i+1))
		require.NoError(t, os.WriteFile(b.path, data, 0o644))
		f := b.look(t, time.Now())
		got, err := f.Bytes()
		require.NoError(t, err)
		require.Equal(t, data, got)
		require.Equal(t, i+1, b.opened)
	}
}

// The bound itself: a change at least a step of the clock before the hashing began.
func TestAnIdentityIsTrustedAfterAStepOfTheClock(t *testing.T) {
	changed := time.Unix(1_800_000_000, 123)
	id := identity{Changed: changed.UnixNano()}
	require.False(t, id.settled(changed))
	require.False(t, id.settled(changed.Add(-time.Hour)), "the file system's clock is ahead")
	require.False(t, id.settled(changed.Add(grain)))
	require.True(t, id.settled(changed.Add(grain+1)))
}

// bare is what a system says that knows no inode and no time of change.
type bare struct{ fs.FileInfo }

func (bare) Sys() any { return nil }

func TestWhereTheSystemSaysTooLittleTheFileIsOpenedEachTime(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	for i := range 3 {
		p := b.place()
		stat := p.stat
		p.stat = func() (fs.FileInfo, error) { st, err := stat(); return bare{st}, err }
		f, err := look(p, nil, b.st, later())
		require.NoError(t, err)
		f.Close()
		require.Equal(t, i+1, b.opened)
	}
}

// Each part of the identity has a say.
func TestAnotherFileInItsPlaceIsHashed(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	b.look(t, later())
	other := b.path + ".new"
	require.NoError(t, os.WriteFile(other, tetrahedron(t, 2), 0o644))
	st, err := os.Stat(b.path)
	require.NoError(t, err)
	require.NoError(t, os.Chtimes(other, st.ModTime(), st.ModTime()))
	require.NoError(t, os.Rename(other, b.path))
	f := b.look(t, later())
	require.Equal(t, 2, b.opened)
	got, err := f.Bytes()
	require.NoError(t, err)
	require.Equal(t, tetrahedron(t, 2), got)
}

// What was measured is handed out, whatever the file holds by now; without a store the file
// is asked, and says that it is another.
func TestBytesThatWereMeasuredAreKept(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	f := b.look(t, time.Now())
	require.NoError(t, f.Keep(t.Context()))
	require.NoError(t, os.WriteFile(b.path, tetrahedron(t, 2), 0o644))

	kept := Of(b.path, f.SHA256, b.st)
	defer kept.Close()
	m, _, err := kept.Mesh(t.Context())
	require.NoError(t, err)
	require.Equal(t, 1.0, m.Bounds().Size().X)
	p, err := kept.Packed(t.Context())
	require.NoError(t, err)
	data, err := p.Unpacked()
	require.NoError(t, err)
	require.Equal(t, tetrahedron(t, 1), data)
	require.Equal(t, m.Fingerprint(), p.Fingerprint)
	require.Equal(t, 4, p.Triangles)
	require.Nil(t, kept.file, "the file was not opened for any of these")

	bare := Of(b.path, f.SHA256, nil)
	defer bare.Close()
	_, _, err = bare.Mesh(t.Context())
	require.ErrorIs(t, err, ErrChanged)
	_, err = bare.Packed(t.Context())
	require.ErrorIs(t, err, ErrChanged)
	_, err = bare.Mirrored(t.Context(), "x")
	require.ErrorIs(t, err, ErrChanged)
}

// A store that lost or damaged an entry costs an opening, and no more.
func TestDamagedBytesAreReadFromTheFileAgain(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	dir := t.TempDir()
	b.st = store.Open(dir, "salt")
	f := b.look(t, later())
	require.NoError(t, f.Keep(t.Context()))
	want, err := f.Mirrored(t.Context(), "a twin")
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(dir, "*", "*"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		data[len(data)-1] ^= 1
		require.NoError(t, os.WriteFile(file, data, 0o644))
	}
	again := &File{SHA256: f.SHA256, place: b.place(), st: b.st}
	defer again.Close()
	b.opened = 0
	got, err := again.Mirrored(t.Context(), "a twin")
	require.NoError(t, err)
	require.Equal(t, want, got)
	require.Equal(t, 1, b.opened)
	_, err = again.Packed(t.Context())
	require.NoError(t, err)
	require.Equal(t, 1, b.opened)
}

func TestATwinIsMadeOnce(t *testing.T) {
	b := newBed(t, tetrahedron(t, 3))
	f := b.look(t, later())
	first, err := f.Mirrored(t.Context(), "left")
	require.NoError(t, err)
	data, err := first.Unpacked()
	require.NoError(t, err)
	m, _, err := mesh.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	require.Equal(t, -3.0, m.Bounds().Min.X)
	require.Equal(t, m.Fingerprint(), first.Fingerprint)

	kept := Of(b.path, f.SHA256, b.st)
	again, err := kept.Mirrored(t.Context(), "left")
	require.NoError(t, err)
	require.Equal(t, first, again)
	require.Nil(t, kept.mesh)
	other, err := kept.Mirrored(t.Context(), "right")
	require.NoError(t, err)
	require.NotEqual(t, first.SHA256, other.SHA256, "the header is part of the file")
	require.Equal(t, first.Fingerprint, other.Fingerprint)
}

func TestAFileBelowARoot(t *testing.T) {
	b := newBed(t, tetrahedron(t, 1))
	root, name := filepath.Split(b.path)
	f, err := LookBelow(root, name, 1<<20, b.st)
	require.NoError(t, err)
	defer f.Close()
	got, err := f.Bytes()
	require.NoError(t, err)
	require.Equal(t, tetrahedron(t, 1), got)
	_, err = LookBelow(root, name, 10, b.st)
	require.ErrorIs(t, err, infile.ErrLarge)
	_, err = LookBelow(root, "../"+filepath.Base(root)+"/"+name, 1<<20, b.st)
	require.Error(t, err)
	_, err = LookBelow(root, "none", 1<<20, b.st)
	require.ErrorIs(t, err, fs.ErrNotExist)
}
