package strict

import "io/fs"

// EachFile hands every file that fits a pattern to read, in the order of their
// names, and stops at the first error.
func EachFile(tree fs.FS, pattern string, read func(file string, text []byte) error) error {
	files, err := fs.Glob(tree, pattern)
	if err != nil {
		return err
	}
	for _, file := range files {
		text, err := fs.ReadFile(tree, file)
		if err != nil {
			return err
		}
		if err := read(file, text); err != nil {
			return err
		}
	}
	return nil
}
