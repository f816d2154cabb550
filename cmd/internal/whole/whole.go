// Package whole writes files as a whole or not at all: after a loss of power the
// old one is there or the new one, never a part. They are readable by their owner
// only.
package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Replace writes a file in the place of the one that may be there. The folder has
// to be there.
func Replace(name string, data []byte) error {
	return beside(name, data, func(made string) error { return os.Rename(made, name) })
}

// Create writes a file that must not be there yet; the error is then [fs.ErrExist].
func Create(name string, data []byte) error {
	if _, err := os.Lstat(name); err == nil {
		return &fs.PathError{Op: "create", Path: name, Err: fs.ErrExist}
	}
	return beside(name, data, func(made string) error {
		// A link does not replace: somebody may have made the file meanwhile.
		err := os.Link(made, name)
		if err == nil || errors.Is(err, fs.ErrExist) {
			return err
		}
		return os.Rename(made, name) // where files have no second name
	})
}

// beside writes a file in the same folder and hands it over. Its errors are of the file that
// is wanted, not of the one that is made first.
func beside(name string, data []byte, place func(made string) error) (err error) {
	defer func() { err = forName(name, err) }()
	f, err := os.CreateTemp(filepath.Dir(name), ".daytank-*") // 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	return place(f.Name())
}

// forName says of a file that is wanted what an error says of the one that is made first.
func forName(name string, err error) error {
	var of *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &of):
		return &fs.PathError{Op: "write", Path: name, Err: of.Err}
	case errors.As(err, &link):
		return &fs.PathError{Op: "write", Path: name, Err: link.Err}
	}
	return err
}

// Read reads a plain file of at most so many bytes; anything else is refused, also what
// would never end.
func Read(name string, most int64) ([]byte, error) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: this is not a plain file", name)
	case info.Size() > most:
		return nil, fmt.Errorf("%s: the file has %d bytes, more than the %d it may have", name, info.Size(), most)
	}
	return os.ReadFile(name)
}
