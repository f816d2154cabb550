//go:build !linux

package store

// networkFileSystem tells nothing here: the system has no common way to ask.
func networkFileSystem(string) (string, error) { return "", nil }
