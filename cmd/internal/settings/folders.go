package settings

import (
	"path/filepath"
	"runtime"
	"strings"
)

// folder is one of the user's folders that a default path starts from.
type folder int

const (
	nowhere folder = iota
	configHome
	dataHome
)

// folders are the places of this user; one that is not known is empty.
type folders struct {
	home, config, data string
}

// folders finds the user's places. The environment variables are those of the
// XDG Base Directory Specification 0.8, where a relative path is to be ignored;
// the places on macOS and Windows are those of github.com/adrg/xdg v0.5.3.
func (from Sources) folders() folders {
	system := from.OS
	if system == "" {
		system = runtime.GOOS
	}
	var f folders
	switch system {
	case "windows":
		f.home = from.getenv("USERPROFILE")
		f.config = from.getenv("LOCALAPPDATA")
		f.data = f.config
	case "darwin":
		f.home = from.getenv("HOME")
		f.config = below(f.home, "Library", "Application Support")
		f.data = f.config
	default:
		f.home = from.getenv("HOME")
		f.config = below(f.home, ".config")
		f.data = below(f.home, ".local", "share")
	}
	if dir := from.getenv("XDG_CONFIG_HOME"); filepath.IsAbs(dir) {
		f.config = dir
	}
	if dir := from.getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		f.data = dir
	}
	return f
}

func below(dir string, names ...string) string {
	if dir == "" {
		return ""
	}
	return filepath.Join(append([]string{dir}, names...)...)
}

func (f folders) of(which folder) string {
	switch which {
	case configHome:
		return f.config
	case dataHome:
		return f.data
	}
	return ""
}

// resolve makes the path of a key whole: ~/ is the home folder, and a relative
// path in a settings file is meant from that file's folder, since the file is
// the same wherever the program is started. Values of other
// keys stay as they are.
func (f folders) resolve(key Key, text, file string) string {
	if !key.Path {
		return text
	}
	if rest, ok := strings.CutPrefix(text, "~/"); ok && f.home != "" {
		return filepath.Join(f.home, rest)
	}
	if file == "" || filepath.IsAbs(text) {
		return text
	}
	return filepath.Join(filepath.Dir(file), text)
}
