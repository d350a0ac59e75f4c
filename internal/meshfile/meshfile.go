package meshfile

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"cardback/internal/deflate"
	"cardback/internal/infile"
	"cardback/internal/mesh"
	"cardback/internal/store"
)

// ErrChanged is in the error where a file no longer holds what was measured.
var ErrChanged = errors.New("its mesh has changed since it was measured")

// MostPacked is the largest file that is packed, in bytes: some ten million triangles of
// binary STL. A packed file is held in memory.
const MostPacked = 512 << 20

// File is a mesh file with certain bytes. It is for one goroutine, and ends with Close.
type File struct {
	Size   int64  // bytes
	SHA256 string // of the bytes, 64 hexadecimal digits

	place place
	st    *store.Store
	file  *os.File // nil while it is not open
	bytes *steady
	mesh  *mesh.Mesh
	info  mesh.Info
}

// place is where a file is, and how it is reached.
type place struct {
	name string // in the store
	stat func() (fs.FileInfo, error)
	open func() (*os.File, fs.FileInfo, error)
}

func placeOf(path string) place {
	return place{
		path,
		func() (fs.FileInfo, error) { return os.Stat(path) },
		func() (*os.File, fs.FileInfo, error) { return infile.Open(path) },
	}
}

// below is a place that no link leads out of root.
func below(root, rel string) place {
	in := func(do func(*os.Root) error) error {
		dir, err := infile.OpenRoot(root)
		if err != nil {
			return err
		}
		defer dir.Close()
		return do(dir)
	}
	return place{
		filepath.Join(root, filepath.FromSlash(rel)),
		func() (st fs.FileInfo, err error) {
			err = in(func(dir *os.Root) error { st, err = dir.Stat(filepath.FromSlash(rel)); return err })
			return st, err
		},
		func() (f *os.File, st fs.FileInfo, err error) {
			err = in(func(dir *os.Root) error { f, st, err = infile.OpenIn(dir, rel); return err })
			return f, st, err
		},
	}
}

// large is what a file is judged by its beginning beyond, before all of it is hashed:
// hashing what nobody will read may take minutes.
const large = 64 << 20

// Look says which bytes the mesh file at path holds. Errors are those of opening and
// reading, and of mesh.Judge for a large file that is no mesh; the File then has its Size
// at most.
func Look(path string, st *store.Store) (*File, error) {
	return look(placeOf(path), func(r io.ReaderAt, size int64) error {
		if size <= large {
			return nil
		}
		return mesh.Judge(r, size)
	}, st, time.Now())
}

// LookBelow is Look for a file of at most so many bytes at a path below root, with
// slashes, links included. A larger one is infile.ErrLarge.
func LookBelow(root, rel string, most int64, st *store.Store) (*File, error) {
	return look(below(root, rel), func(_ io.ReaderAt, size int64) error {
		if size > most {
			return infile.ErrLarge
		}
		return nil
	}, st, time.Now())
}

// Of is the file at path when it had that SHA-256, 64 hexadecimal digits.
func Of(path, sha256 string, st *store.Store) *File {
	return &File{SHA256: sha256, place: placeOf(path), st: st}
}

func look(p place, judge func(io.ReaderAt, int64) error, st *store.Store, now time.Time) (*File, error) {
	f := &File{place: p, st: st}
	info, err := p.stat()
	if err != nil {
		return f, err
	}
	if sum, ok := known(p.name, info, st); ok {
		f.Size, f.SHA256 = info.Size(), sum
		return f, nil
	}
	return f, f.open(judge, now)
}

// open opens the file, hashes it, and remembers it where it is new.
func (f *File) open(judge func(io.ReaderAt, int64) error, now time.Time) error {
	file, before, err := f.place.open()
	if err != nil {
		return err
	}
	f.file, f.Size = file, before.Size()
	fail := func(err error) error { f.Close(); return err }
	if judge != nil {
		if err := judge(file, f.Size); err != nil {
			return fail(err)
		}
	}
	bytes, sum, err := newSteady(file)
	if err != nil {
		return fail(err)
	}
	if f.SHA256 != "" && f.SHA256 != sum {
		return fail(ErrChanged)
	}
	f.bytes, f.Size, f.SHA256 = bytes, bytes.size, sum
	if after, err := file.Stat(); err == nil {
		return remember(f.place.name, before, after, now, sum, f.st)
	}
	return nil
}

// Close gives back what the File holds; it may be asked again, and then opens anew.
func (f *File) Close() {
	if f.file != nil {
		f.file.Close() // it was read only
	}
	f.file, f.bytes, f.mesh = nil, nil, nil
}

// content is the file's bytes: of the open file, from the store, or of the file that is
// opened now.
func (f *File) content() (r io.ReadSeeker, size int64, err error) {
	if f.bytes == nil {
		if p, ok := f.kept(); ok {
			if data, err := p.Unpacked(); err == nil {
				return bytes.NewReader(data), int64(len(data)), nil
			}
		}
		if err := f.open(nil, time.Now()); err != nil {
			return nil, 0, err
		}
	}
	return f.bytes, f.bytes.size, nil
}

// Mesh reads the mesh, once. Errors are those of mesh.Read and of opening the file;
// ErrChanged where the file holds other bytes by now.
func (f *File) Mesh(ctx context.Context) (*mesh.Mesh, mesh.Info, error) {
	if f.mesh != nil {
		return f.mesh, f.info, nil
	}
	r, size, err := f.content()
	if err != nil {
		return nil, mesh.Info{}, err
	}
	m, info, err := mesh.Read(ctx, r, size)
	if err != nil {
		return nil, info, err
	}
	f.mesh, f.info = m, info
	return m, info, nil
}

// Bytes is all that the file holds.
func (f *File) Bytes() ([]byte, error) {
	r, size, err := f.content()
	if err != nil {
		return nil, err
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	data := make([]byte, size)
	_, err = io.ReadFull(r, data)
	return data, err
}

// kept is the packed file in the store.
func (f *File) kept() (deflate.Packed, bool) { return keptBytes(f.SHA256, f.st) }

func keptBytes(sum string, st *store.Store) (deflate.Packed, bool) {
	data, ok := st.GetBytes("bytes", sum)
	if !ok {
		return deflate.Packed{}, false
	}
	p, err := deflate.Unmarshal(data)
	return p, err == nil && p.SHA256 == sum
}

func keepBytes(p deflate.Packed, st *store.Store) error {
	if st.Has("bytes", p.SHA256) {
		return nil
	}
	data, err := p.Marshal()
	if err != nil {
		return err
	}
	st.PutBytes(data, "bytes", p.SHA256)
	return nil
}

// KeepBytes keeps the bytes in the store for whoever asks next, and not the mesh.
func (f *File) KeepBytes() error {
	if f.st.Has("bytes", f.SHA256) {
		return nil
	}
	p, err := f.pack()
	if err != nil {
		return err
	}
	return keepBytes(p, f.st)
}

// pack packs the file's own bytes; the file is opened where it is not.
func (f *File) pack() (deflate.Packed, error) {
	if f.bytes == nil {
		if err := f.open(nil, time.Now()); err != nil {
			return deflate.Packed{}, err
		}
	}
	if f.Size > MostPacked {
		return deflate.Packed{}, infile.ErrLarge
	}
	return deflate.Of(f.bytes)
}

// Shape is what a file's mesh is.
type Shape struct {
	Fingerprint string
	Triangles   int
}

func shapeOf(m *mesh.Mesh) Shape { return Shape{m.Fingerprint(), len(m.Triangles)} }

// Packed is a mesh file as an archive holds it.
type Packed struct {
	deflate.Packed
	Shape
}

// Packed packs the file, or takes it from the store. What cannot be read as a mesh is not
// packed; a file of more than MostPacked bytes is infile.ErrLarge.
func (f *File) Packed(ctx context.Context) (out Packed, err error) {
	var ok bool
	if f.st.Get(&out.Shape, "shape", f.SHA256) {
		if out.Packed, ok = f.kept(); ok {
			return out, nil
		}
	}
	if out.Packed, err = f.pack(); err != nil {
		return out, err
	}
	m, _, err := f.Mesh(ctx)
	if err != nil {
		return out, err
	}
	out.Shape = shapeOf(m)
	if err := keepBytes(out.Packed, f.st); err != nil {
		return out, err
	}
	return out, f.st.Put(out.Shape, "shape", f.SHA256)
}

// Keep has the store keep what Packed gives.
func (f *File) Keep(ctx context.Context) error {
	if f.st == nil || f.st.Has("shape", f.SHA256) && f.st.Has("bytes", f.SHA256) {
		return nil
	}
	_, err := f.Packed(ctx)
	return err
}

// twin is what the store keeps of a mirrored mesh.
type twin struct {
	SHA256 string
	Shape
}

// Mirrored is the mirror image of the mesh as a binary STL with that header, packed. Its
// Shape is that of the mesh as written, in 32-bit coordinates.
func (f *File) Mirrored(ctx context.Context, header string) (out Packed, err error) {
	var was twin
	if f.st.Get(&was, "mirrored", f.SHA256, header) {
		if p, ok := keptBytes(was.SHA256, f.st); ok {
			return Packed{p, was.Shape}, nil
		}
	}
	m, _, err := f.Mesh(ctx)
	if err != nil {
		return out, err
	}
	var b bytes.Buffer
	if err := mesh.WriteSTL(&b, m.Mirrored(), header); err != nil {
		return out, fmt.Errorf("write its mirrored twin: %w", err)
	}
	written, _, err := mesh.Read(ctx, bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		return out, fmt.Errorf("read back its mirrored twin: %w", err)
	}
	out.Shape = shapeOf(written)
	if out.Packed, err = deflate.OfBytes(b.Bytes()); err != nil {
		return out, err
	}
	if err := keepBytes(out.Packed, f.st); err != nil {
		return out, err
	}
	return out, f.st.Put(twin{out.SHA256, out.Shape}, "mirrored", f.SHA256, header)
}
