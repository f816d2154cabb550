package cli

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"

	"daytank/cmd/internal/prompt"

	"github.com/spf13/cobra"
)

// Files to begin with: they read as they are, and every figure in them is to be
// replaced.
var (
	//go:embed new_engine.yaml
	newEngineText string
	//go:embed new_layout.yaml
	newLayoutText string
)

// beginnings are the kinds of files that can be begun, with their folder in the
// library.
var beginnings = map[string]struct {
	folder string
	text   *string
}{
	"engine": {"engines", &newEngineText},
	"layout": {"layouts", &newLayoutText},
}

// idForm is what a file and the id in it may be called.
var idForm = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`) })

func (a *app) libraryNew() *cobra.Command {
	var to string
	cmd := &cobra.Command{
		Use:   "new engine|layout NAME",
		Short: "begin a file of your own, with a remark at every figure",
		Long: `Begins a file of your own in the library folder, or where --to says, with a
remark at every figure. It reads as it is, so that it can be tried at once; the
figures are starting values, to be replaced by measured ones. A file that is
there already is left alone.`,
		Example: `  daytank library new engine launch-3-2`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usage("name the kind and the file", "such as: daytank library new engine launch-3-2")
			}
			return nil
		},
		ValidArgs: []string{"engine", "layout"},
		RunE:      func(_ *cobra.Command, args []string) error { return a.beginFile(args[0], args[1], to) },
	}
	cmd.Flags().StringVar(&to, "to", "", "`FILE` to write instead; it is called NAME.yaml")
	return cmd
}

func (a *app) beginFile(kind, id, to string) error {
	begin, known := beginnings[kind]
	switch {
	case !known:
		return usage(fmt.Sprintf("no kind %q can be begun", kind), "kinds are engine and layout")
	case !idForm().MatchString(id):
		return usage(fmt.Sprintf("%q is not a name of lower-case letters, digits and hyphens", id), "such as launch-3-2")
	}
	if to == "" {
		s, err := a.settings()
		if err != nil {
			return err
		}
		if s.Library == "" {
			return fail(Failed, errors.New("there is no library folder: the environment names no home folder"), "--to FILE names a place")
		}
		to = filepath.Join(s.Library, begin.folder, id+".yaml")
	}
	if filepath.Base(to) != id+".yaml" {
		return usage(fmt.Sprintf("%s is not called %s.yaml: a file is named after the id in it", to, id))
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	if err := writeNew(to, []byte(strings.ReplaceAll(*begin.text, "NAME", id)), false); err != nil {
		return err
	}
	fmt.Fprintf(a.env.Stdout, "%s: a beginning; look at every figure in it, then: %s\n", prompt.Plain(to), a.command("library", "check", to))
	return nil
}
