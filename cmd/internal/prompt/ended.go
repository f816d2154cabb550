package prompt

import (
	"context"
	"io"
	"os"
)

// watched is a terminal that tells when nothing more can come from it.
type watched struct {
	*os.File
	ended context.CancelCauseFunc
	cause error
}

// Read reads; the end of the input ends the context.
func (w watched) Read(b []byte) (int, error) {
	n, err := w.File.Read(b)
	if n == 0 && err != nil {
		w.ended(w.cause)
	}
	return n, err
}

// UntilEnd gives an input whose end ends a context, with [ErrEnd] as its cause: the
// screen library takes the end of its input for a long silence.
func UntilEnd(in io.Reader, ended context.CancelCauseFunc) io.Reader {
	if file, ok := in.(*os.File); ok {
		return watched{file, ended, ErrEnd}
	}
	return in
}
