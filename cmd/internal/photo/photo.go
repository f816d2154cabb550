// Package photo brings pictures of the work into a record: the file that is
// named, or the newest in the folder that pictures arrive in, without what the
// camera wrote into it of place and owner.
//
// JPEG and PNG are taken. The picture itself is kept byte for byte; of what
// stands beside it only what is needed to show it is kept. Formats: ISO/IEC
// 10918-1 annex B (markers), Exif 2.3 in APP1 (JEITA CP-3451C), of which the
// orientation alone is kept; PNG third edition, chunks (W3C). Everything else is
// refused, because what it carries is not known.
package photo

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Largest is what a picture may have at most, in bytes.
const Largest = 32 << 20

// Picture is what is kept of a photo.
type Picture struct {
	File string // its name, without folders
	Data []byte // without location and owner
}

// Take reads the picture at a path; without one, the newest in the inbox.
func Take(path, inbox string) (Picture, error) {
	if path == "" {
		var err error
		if path, err = newest(inbox); err != nil {
			return Picture{}, err
		}
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return Picture{}, err
	case !info.Mode().IsRegular():
		return Picture{}, fmt.Errorf("%s: this is no file", path)
	case info.Size() > Largest:
		return Picture{}, fmt.Errorf("%s: %d MB, at most %d are kept", path, info.Size()>>20, Largest>>20)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return Picture{}, err
	}
	bare, err := Strip(data)
	if err != nil {
		return Picture{}, fmt.Errorf("%s: %w", path, err)
	}
	return Picture{File: filepath.Base(path), Data: bare}, nil
}

// newest gives the picture in a folder that was changed last.
func newest(inbox string) (string, error) {
	if inbox == "" {
		return "", errors.New("no file is named, and the setting photo_inbox names no folder that photos arrive in")
	}
	entries, err := os.ReadDir(inbox)
	if err != nil {
		return "", err
	}
	var found string
	var latest fs.FileInfo
	for _, entry := range entries {
		info, err := entry.Info()
		if err != nil || !info.Mode().IsRegular() || !isPicture(entry.Name()) {
			continue
		}
		if latest == nil || info.ModTime().After(latest.ModTime()) {
			latest, found = info, filepath.Join(inbox, entry.Name())
		}
	}
	if latest == nil {
		return "", fmt.Errorf("no photo in %s", inbox)
	}
	return found, nil
}

func isPicture(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".jpg", ".jpeg", ".png":
		return true
	}
	return false
}
