package mesh

import (
	"context"
	"io"
)

// window shows the next length bytes of r, until ctx ends.
type window struct {
	ctx    context.Context
	r      io.Reader
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
	n, err := w.r.Read(p[:min(int64(len(p)), w.length-w.at)])
	w.at += int64(n)
	return n, err
}
