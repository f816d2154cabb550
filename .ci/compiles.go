// Compiles holds that the program and its tests compile for other systems, without
// compiling them: it only checks types, in a tenth of the time. What others wrote is
// checked without the bodies of its functions.
//
//	go run .ci/compiles.go windows/amd64 darwin/arm64
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
)

func main() {
	wrong := make([]error, len(os.Args)-1)
	var all sync.WaitGroup
	for i, target := range os.Args[1:] {
		all.Go(func() { wrong[i] = check(target) })
	}
	all.Wait()
	if err := errors.Join(wrong...); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// listed is a package as go list gives it: those it imports come before it.
type listed struct {
	ImportPath, Dir string
	GoFiles         []string
	ImportMap       map[string]string
	Module          *struct{ Main bool }
	Error           *struct{ Err string }
}

func check(target string) error {
	system, processor, ok := strings.Cut(target, "/")
	if !ok {
		return fmt.Errorf("%q is no target such as windows/amd64", target)
	}
	packages, err := list(system, processor)
	if err != nil {
		return fmt.Errorf("%s: %w", target, err)
	}
	var wrong []error
	own, known := 0, map[string]*types.Package{"unsafe": types.Unsafe}
	for _, p := range packages {
		if p.ImportPath == "unsafe" || strings.HasSuffix(p.ImportPath, ".test") { // a main that go test writes
			continue
		}
		ours := p.Module != nil && p.Module.Main
		if ours {
			own++
		}
		for _, err := range p.check(known, processor, ours) {
			wrong = append(wrong, fmt.Errorf("%s: %w", target, err))
		}
	}
	if own == 0 {
		wrong = append(wrong, fmt.Errorf("%s: no package of our own", target))
	}
	fmt.Printf("%s: %d packages of our own, %d in all\n", target, own, len(known))
	return errors.Join(wrong...)
}

func list(system, processor string) ([]listed, error) {
	cmd := exec.Command("go", "list", "-deps", "-test", "-json=ImportPath,Dir,GoFiles,ImportMap,Module,Error", "./...")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+processor)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, err
	}
	var all []listed
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		switch err := d.Decode(&p); {
		case errors.Is(err, io.EOF):
			return all, nil
		case err != nil:
			return nil, err
		case p.Error != nil:
			return nil, errors.New(p.Error.Err)
		}
		all = append(all, p)
	}
}

// check checks the types of a package, adds it to those known and gives what is wrong;
// of a package of others nothing, since it is checked in parts only.
func (p listed) check(known map[string]*types.Package, processor string, ours bool) []error {
	var wrong []error
	files, positions := []*ast.File{}, token.NewFileSet()
	for _, name := range p.GoFiles {
		if !filepath.IsAbs(name) {
			name = filepath.Join(p.Dir, name)
		}
		file, err := parser.ParseFile(positions, name, nil, parser.SkipObjectResolution)
		if err != nil {
			return []error{err}
		}
		files = append(files, file)
	}
	config := types.Config{
		Importer: importer{known, p.ImportMap}, IgnoreFuncBodies: !ours, Sizes: types.SizesFor("gc", processor),
		Error: func(err error) {
			if ours {
				wrong = append(wrong, err)
			}
		},
	}
	path, _, _ := strings.Cut(p.ImportPath, " ") // of a package for a test, what it is
	known[p.ImportPath], _ = config.Check(path, positions, files, nil)
	return wrong
}

// importer gives packages by their names in one package.
type importer struct {
	known map[string]*types.Package
	names map[string]string
}

func (i importer) Import(name string) (*types.Package, error) {
	if other, ok := i.names[name]; ok {
		name = other
	}
	if p := i.known[name]; p != nil {
		return p, nil
	}
	return nil, fmt.Errorf("%s is not known", name)
}
