package planner_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

// The layers of the program: planner computes, safety judges, procedures walk
// and remember, cmd shows. A package imports only its own layer and those to
// the left.
var layers = []string{"planner", "safety", "procedures", "cmd"}

// pure are the layers without a clock, a disk, a terminal or chance; store is
// where the disk is.
var (
	pure    = []string{"planner", "safety", "procedures"}
	notPure = []string{"procedures/store"}
)

// outside is what a pure package may not import, by the beginning of its path.
var outside = []string{
	"os", "net", "syscall", "io/ioutil", "log", "math/rand", "crypto/rand", "runtime/debug", "plugin", "unsafe", "database/sql",
	"golang.org/x/sys", "golang.org/x/term",
	"github.com/charmbracelet", "github.com/creack", "github.com/spf13", "github.com/muesli", "github.com/jackc", "modernc.org/sqlite",
}

// impure are calls that a pure package may not make though it may import what
// they are in.
var impure = map[string][]string{
	"time":                   {"Now", "Since", "Until", "After", "AfterFunc", "Sleep", "Tick", "NewTimer", "NewTicker", "LoadLocation", "Local"},
	"fmt":                    {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
	"path/filepath":          {"Abs", "EvalSymlinks", "Glob", "Walk", "WalkDir"},
	"github.com/google/uuid": {"New", "NewString", "NewRandom", "NewUUID", "NewV6", "NewV7", "NewDCESecurity", "Must"},
}

// violations gives what breaks these rules in a tree of Go files, a line each.
func violations(tree fs.FS) ([]string, error) {
	var found []string
	err := fs.WalkDir(tree, ".", func(file string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case entry.IsDir() && entry.Name() == "testdata":
			return fs.SkipDir
		case entry.IsDir() || !strings.HasSuffix(file, ".go"):
			return nil
		}
		text, err := fs.ReadFile(tree, file)
		if err != nil {
			return err
		}
		files := token.NewFileSet()
		parsed, err := parser.ParseFile(files, file, text, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, v := range ofFile(path.Dir(file), parsed, strings.HasSuffix(file, "_test.go")) {
			place := files.Position(v.at)
			found = append(found, fmt.Sprintf("%s:%d: %s", file, place.Line, v.what))
		}
		return nil
	})
	return found, err
}

type violation struct {
	at   token.Pos
	what string
}

// ofFile judges one file of a package in a folder. Tests may read the disk and
// the clock, but they import leftwards too.
func ofFile(folder string, file *ast.File, test bool) []violation {
	var found []violation
	layer := slices.Index(layers, strings.Split(folder, "/")[0])
	isPure := layer >= 0 && slices.Contains(pure, layers[layer]) && !test &&
		!slices.ContainsFunc(notPure, func(p string) bool { return under(folder, p) })
	names := map[string]string{}
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			continue
		}
		if own, ok := strings.CutPrefix(imported, "daytank/"); ok && layer >= 0 {
			if slices.Index(layers, strings.Split(own, "/")[0]) > layer {
				found = append(found, violation{spec.Pos(), imported + " is to the right of " + layers[layer]})
			}
			if isPure && slices.ContainsFunc(notPure, func(p string) bool { return under(own, p) }) {
				found = append(found, violation{spec.Pos(), imported + " has a disk"})
			}
		}
		if !isPure {
			continue
		}
		if slices.ContainsFunc(outside, func(p string) bool { return under(imported, p) }) {
			found = append(found, violation{spec.Pos(), imported + " is not for a pure package"})
		}
		name := path.Base(imported)
		if spec.Name != nil {
			name = spec.Name.Name
		}
		names[name] = imported
		if _, watched := impure[imported]; watched && name == "." {
			found = append(found, violation{spec.Pos(), imported + " is imported without its name"})
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		selector, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if from, ok := selector.X.(*ast.Ident); ok && slices.Contains(impure[names[from.Name]], selector.Sel.Name) {
			found = append(found, violation{selector.Pos(), from.Name + "." + selector.Sel.Name + " is not for a pure package"})
		}
		return true
	})
	return found
}

// under tells whether a path is a folder or lies in it.
func under(p, folder string) bool { return p == folder || strings.HasPrefix(p, folder+"/") }

func TestImportsGoLeftwardsAndPurePackagesStayPure(t *testing.T) {
	root := os.DirFS("..")
	for _, layer := range layers {
		if _, err := fs.Stat(root, layer); err != nil {
			t.Fatal(err)
		}
	}
	found, err := violations(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range found {
		t.Error(v)
	}
}

// TestViolationsAreFound holds that the test above can fail.
func TestViolationsAreFound(t *testing.T) {
	source := func(body string) *fstest.MapFile { return &fstest.MapFile{Data: []byte("package x\n" + body)} }
	tree := fstest.MapFS{
		"planner/a.go":              source("import \"daytank/safety\"\n"),
		"planner/b.go":              source("import \"os/exec\"\nimport \"embed\"\n"),
		"planner/c.go":              source("import clock \"time\"\nvar now = clock.Now\n"),
		"planner/d.go":              source("import \"time\"\nfunc f() { time.Sleep(time.Second) }\n"),
		"planner/e.go":              source("import \"math/rand/v2\"\n"),
		"planner/f.go":              source("import . \"time\"\nvar now = Now()\n"),
		"planner/g_test.go":         source("import \"os\"\nimport \"time\"\nvar now = time.Now()\n"),
		"planner/h_test.go":         source("import \"daytank/cmd/internal/cli\"\n"),
		"planner/quantity/i.go":     source("import \"github.com/charmbracelet/lipgloss\"\n"),
		"safety/j.go":               source("import \"daytank/planner\"\nimport \"daytank/safety/hazard\"\n"),
		"safety/k.go":               source("import \"fmt\"\nfunc f() { fmt.Println(fmt.Sprint()) }\n"),
		"procedures/l.go":           source("import \"daytank/procedures/store\"\n"),
		"procedures/store/m.go":     source("import \"os\"\nimport \"daytank/procedures/record\"\n"),
		"procedures/store/n.go":     source("import \"daytank/cmd/internal/cli\"\n"),
		"procedures/store/sub/o.go": source("import \"database/sql\"\n"),
		"cmd/p.go":                  source("import \"os\"\nimport \"time\"\nimport \"daytank/planner\"\nvar now = time.Now()\n"),
		"planner/testdata/q.go":     source("import \"os\"\n"),
		"planner/r.go":              source("import \"osmosis.example/os\"\nimport \"daytank/planner/quantity\"\n"),
	}
	got, err := violations(tree)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"planner/a.go:2: daytank/safety is to the right of planner",
		"planner/b.go:2: os/exec is not for a pure package",
		"planner/c.go:3: clock.Now is not for a pure package",
		"planner/d.go:3: time.Sleep is not for a pure package",
		"planner/e.go:2: math/rand/v2 is not for a pure package",
		"planner/f.go:2: time is imported without its name",
		"planner/h_test.go:2: daytank/cmd/internal/cli is to the right of planner",
		"planner/quantity/i.go:2: github.com/charmbracelet/lipgloss is not for a pure package",
		"procedures/l.go:2: daytank/procedures/store has a disk",
		"procedures/store/n.go:2: daytank/cmd/internal/cli is to the right of procedures",
		"safety/k.go:3: fmt.Println is not for a pure package",
	}
	slices.Sort(got)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}
