package people

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/crypto/scrypt"
)

func TestListIsKept(t *testing.T) {
	file := filepath.Join(t.TempDir(), "config", "people.yaml")
	l, err := Open(file)
	if err != nil || len(l.All()) != 0 {
		t.Fatalf("%v, %v", l.All(), err)
	}
	for _, p := range [][2]string{{"Mara Quill", "4711"}, {" Ines Holm ", ""}} {
		if err := l.Add(p[0], p[1]); err != nil {
			t.Fatal(err)
		}
	}
	l, err = Open(file)
	if err != nil {
		t.Fatal(err)
	}
	all := l.All()
	if len(all) != 2 || all[0].Name != "Ines Holm" || all[0].HasPIN() || !all[1].HasPIN() {
		t.Errorf("read again: %+v", all)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	text, _ := os.ReadFile(file)
	if strings.Contains(string(text), "4711") {
		t.Error("the PIN stands in the file")
	}
	if err := l.Remove("mara quill"); err != nil || len(l.All()) != 1 {
		t.Errorf("%v, %v", l.All(), err)
	}
	if err := l.Remove("Mara Quill"); !errors.Is(err, ErrUnknown) {
		t.Errorf("removed twice: %v", err)
	}
}

func TestCheck(t *testing.T) {
	l, err := Open(filepath.Join(t.TempDir(), "people.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(l.Add("Mara Quill", "4711"), l.Add("Ines Holm", "")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, pin string
		want      error
	}{
		{"Mara Quill", "4711", nil},
		{"mara quill", "4711", nil},
		{"Mara Quill", "4712", ErrWrongPIN},
		{"Mara Quill", "", ErrWrongPIN},
		{"Mara Quill", "4711 ", ErrWrongPIN},
		{"Ines Holm", "", ErrWrongPIN}, // who has none proves nothing with none
		{"Ines Holm", "4711", ErrWrongPIN},
		{"Tobi Fenn", "4711", ErrUnknown},
	} {
		if err := l.Check(c.name, c.pin); !errors.Is(err, c.want) || (c.want == nil) != (err == nil) {
			t.Errorf("%s, %q: %v, want %v", c.name, c.pin, err, c.want)
		}
	}
}

func TestAddRefuses(t *testing.T) {
	l, err := Open(filepath.Join(t.TempDir(), "people.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := l.Add("Mara Quill", "4711"); err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{{"", "4711"}, {"a\nb", "4711"}, {strings.Repeat("x", 81), ""}, {"Ines Holm", "123"}, {"Ines Holm", strings.Repeat("1", 65)}, {"MARA QUILL", "1234"}} {
		if err := l.Add(c[0], c[1]); err == nil {
			t.Errorf("%q, %q is taken", c[0], c[1])
		}
	}
	if len(l.All()) != 1 {
		t.Errorf("%+v", l.All())
	}
}

// RFC 7914 section 12 has this for "password" and "NaCl" at N 1024, r 8, p 16.
func TestHashIsThatOfTheStandard(t *testing.T) {
	got, err := scrypt.Key([]byte("password"), []byte("NaCl"), 1024, 8, 16, 8)
	if err != nil || string(got) != "\xfd\xba\xbe\x1c\x9d\x34\x72\x00" {
		t.Errorf("%x, %v", got, err)
	}
}

func TestFilesAreReadStrictly(t *testing.T) {
	for text, says := range map[string]string{
		"people: 2\nlist: []\n": "people",
		"people: 1\n":           "list: is missing",
		"people: 1\nlist: [{name: A, pin: '1234'}]\n":      "no PIN as it is kept",
		"people: 1\nlist: [{name: A}, {name: a}]\n":        "twice",
		"people: 1\nlist: [{name: A, password: x}]\n":      "password",
		"people: 1\nlist: [{pin: 'scrypt15 AAAA AAAA'}]\n": "name: is missing",
	} {
		if _, err := read("people.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("people: 1\nlist: [{name: A, pin: 'scrypt15 AAAA AAAA'}]\n"))
	f.Fuzz(func(t *testing.T, text []byte) { read("people.yaml", text) })
}
