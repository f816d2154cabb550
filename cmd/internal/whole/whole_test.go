package whole

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestReplaceAndCreate(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "a.yaml")
	if err := Create(name, []byte("one")); err != nil {
		t.Fatal(err)
	}
	if err := Create(name, []byte("two")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("created twice: %v", err)
	}
	if got, _ := os.ReadFile(name); string(got) != "one" {
		t.Errorf("it has %q", got)
	}
	if err := Replace(name, []byte("three")); err != nil {
		t.Fatal(err)
	}
	got, _ := os.ReadFile(name)
	info, err := os.Stat(name)
	if err != nil || string(got) != "three" || info.Mode().Perm() != 0o600 {
		t.Errorf("%q, %v, %v", got, info.Mode(), err)
	}
	nowhere := filepath.Join(folder, "none", "a")
	for _, write := range []func(string, []byte) error{Replace, Create} { // the error is about the file that was wanted
		var of *fs.PathError
		if err := write(nowhere, nil); !errors.As(err, &of) || of.Path != nowhere || !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("into no folder: %v", err)
		}
		if err := write(folder, nil); err == nil || strings.Contains(err.Error(), ".daytank") {
			t.Errorf("over a folder: %v", err)
		}
	}
	left, err := os.ReadDir(folder)
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
