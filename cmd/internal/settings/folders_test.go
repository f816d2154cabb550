package settings

import (
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
)

func TestPathsAreResolved(t *testing.T) {
	p := newPlace(t, "store: ~/bay/records.db\nlibrary: ours\nphoto_inbox: /srv/photos\noperator: ~/Mara\n")
	p.env["DAYTANK_REVIEW_SIGNERS"] = "~/signers"
	got := load(t, p.sources())
	want := map[string]string{
		"store":          filepath.Join(p.home, "bay/records.db"),
		"library":        filepath.Join(filepath.Dir(p.file), "ours"),
		"photo_inbox":    "/srv/photos",
		"operator":       "~/Mara",
		"review_signers": filepath.Join(p.home, "signers"),
	}
	for key, path := range want {
		if got.Text(key) != path {
			t.Errorf("%s is %q, want %q", key, got.Text(key), path)
		}
	}
	from := p.sources()
	from.Flags = map[string]string{"store": "here.db"}
	if s := load(t, from); s.Store != "here.db" {
		t.Errorf("store by flag is %q, want it from the working folder", s.Store)
	}
}

func TestFolders(t *testing.T) {
	tests := []struct {
		name, os string
		env      map[string]string
		want     folders
	}{
		// XDG Base Directory Specification 0.8, "Environment variables".
		{"linux", "linux", map[string]string{"HOME": "/home/ines"}, folders{"/home/ines", "/home/ines/.config", "/home/ines/.local/share"}},
		{"set", "linux", map[string]string{"HOME": "/h", "XDG_CONFIG_HOME": "/c", "XDG_DATA_HOME": "/d"}, folders{"/h", "/c", "/d"}},
		{"relative is ignored", "linux", map[string]string{"HOME": "/h", "XDG_CONFIG_HOME": "c"}, folders{"/h", "/h/.config", "/h/.local/share"}},
		{"no home", "linux", nil, folders{}},
		// Places of github.com/adrg/xdg v0.5.3.
		{"macOS", "darwin", map[string]string{"HOME": "/h"}, folders{"/h", "/h/Library/Application Support", "/h/Library/Application Support"}},
		{"Windows", "windows", map[string]string{"USERPROFILE": "/u", "LOCALAPPDATA": "/u/l"}, folders{"/u", "/u/l", "/u/l"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			from := Sources{OS: test.os, Getenv: func(name string) string { return test.env[name] }}
			if got := from.folders(); got != test.want {
				t.Errorf("%+v, want %+v", got, test.want)
			}
		})
	}
}

func TestNoHome(t *testing.T) {
	got := load(t, Sources{})
	if file, read := got.File(); file != "" || read || got.Store != "" || got.Library != "" {
		t.Errorf("file %q, read %v, store %q, library %q", file, read, got.Store, got.Library)
	}
}

func TestWarnings(t *testing.T) {
	p := newPlace(t, "")
	p.env["DAYTANK_UNIT"] = "us"
	p.env["DAYTANK_BERTH"] = "seven"
	p.env["DAYTANK_EMPTY"] = ""
	p.env["DAYTANK_ACTIVE_HELP"] = "0"
	p.env["DAYTANK_WHYS"] = "off"
	want := []string{
		"environment variable DAYTANK_BERTH is no setting",
		"environment variable DAYTANK_UNIT is no setting; did you mean DAYTANK_UNITS?",
	}
	if diff := cmp.Diff(want, load(t, p.sources()).Warnings()); diff != "" {
		t.Errorf("warnings (-want +got):\n%s", diff)
	}
}

func TestProcessEnvironmentIsNotConsulted(t *testing.T) {
	p := newPlace(t, "")
	t.Setenv("DAYTANK_UNITS", "us")
	t.Setenv("DAYTANK_OPERATOR", "Ines Holm")
	t.Setenv("XDG_CONFIG_HOME", "/elsewhere")
	got := load(t, p.sources())
	if file, _ := got.File(); got.Units != quantity.Metric || got.Operator != "" || file != p.file {
		t.Errorf("units %v, operator %q, file %q", got.Units, got.Operator, file)
	}
}
