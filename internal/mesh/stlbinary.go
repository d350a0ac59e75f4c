package mesh

import (
	"context"
	"fmt"
	"io"

	"github.com/hschendel/stl"
)

// A binary STL is a header of 80 bytes and a 32-bit count, then 50 bytes a
// triangle: normal, three corners (12 numbers of 32 bits), 16 bits of attribute.
const (
	stlHeader = 84
	stlRecord = 50
)

// readSTLBinary reads through hschendel/stl, which is used in this file only.
// That library (v1.0.4) takes a file for binary only if the length agrees with
// the count exactly, reads its header with a single Read, passes NaN on, and has
// no way for its Writer to stop it. So the length is judged here first, the
// library is shown a window of exactly the right length whose Read fills its
// buffer and stops on a cancelled ctx, and the gatherer keeps the first fault.
func readSTLBinary(ctx context.Context, r io.ReadSeeker, size, count int64) (*Mesh, Info, error) {
	info := Info{Format: STLBinary}
	whole := (size - stlHeader) / stlRecord
	switch {
	case count > whole && whole == 0:
		return nil, info, refuse("truncated, or not a mesh: as a binary STL the header promises %d triangles and the file has none", count)
	case count > whole:
		return nil, info, refuse("truncated: the header promises %d triangles and the file has %d whole ones", count, whole)
	case count == 0 && size > stlHeader:
		return nil, info, refuse("no triangles: the header counts 0, though %d bytes follow", size-stlHeader)
	case count == 0:
		return nil, info, refuse("no triangles: the header counts 0")
	case count > maxTriangles:
		return nil, info, refuse("%d triangles; at most %d are read", count, maxTriangles)
	}
	length := stlHeader + stlRecord*count
	if size > length {
		info.Notes = append(info.Notes, fmt.Sprintf("%d bytes after the last triangle were passed over.", size-length))
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, info, err
	}
	g := &gatherer{}
	if err := stl.CopyAll(&window{ctx: ctx, r: r, length: length}, g); err != nil {
		return nil, info, fmt.Errorf("read binary STL: %w", err)
	}
	if g.fault != nil {
		return nil, info, g.fault
	}
	return &g.welder.mesh, info, nil
}

// gatherer is the stl.Writer that welds the triangles it is given.
type gatherer struct {
	welder *welder
	seen   int
	fault  error
}

func (g *gatherer) SetName(string)         {}
func (g *gatherer) SetBinaryHeader([]byte) {}
func (g *gatherer) SetASCII(bool)          {}

// SetTriangleCount reserves room; the count agrees with the file's length.
func (g *gatherer) SetTriangleCount(n uint32) { g.welder = newWelder(int(n)) }

func (g *gatherer) AppendTriangle(t stl.Triangle) {
	g.seen++
	if g.fault != nil {
		return
	}
	a, b, c := toVec(t.Vertices[0]), toVec(t.Vertices[1]), toVec(t.Vertices[2])
	if !finite(a) || !finite(b) || !finite(c) {
		g.fault = refuse("triangle %d has a corner that is not a number or is infinite", g.seen)
		return
	}
	g.welder.add(a, b, c)
}

func toVec(v stl.Vec3) Vec { return Vec{float64(v[0]), float64(v[1]), float64(v[2])} }

// window shows the first length bytes of r, until ctx ends.
type window struct {
	ctx    context.Context
	r      io.ReadSeeker
	at     int64
	length int64
}

func (w *window) Read(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	if w.at >= w.length {
		return 0, io.EOF
	}
	n, err := io.ReadFull(w.r, p[:min(int64(len(p)), w.length-w.at)])
	w.at += int64(n)
	return n, err
}

func (w *window) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += w.at
	case io.SeekEnd:
		offset += w.length
	}
	at, err := w.r.Seek(offset, io.SeekStart)
	w.at = at
	return at, err
}
