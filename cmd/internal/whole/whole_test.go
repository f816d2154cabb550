package whole

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
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
	if err := Replace(filepath.Join(folder, "none", "a"), nil); err == nil {
		t.Error("a file was written into no folder")
	}
	left, err := os.ReadDir(folder)
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
