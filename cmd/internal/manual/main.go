// Command manual writes what a release has beside the program, made from the
// commands themselves: a manual page a command and the scripts that complete them
// in a shell. It is no part of the program, which has nothing of it inside.
//
//	go run ./cmd/internal/manual 1.2.0 2026-03-14 dist/share
//
// makes man1/daytank.1, man1/daytank-plan.1 and so on, and completions/daytank.bash,
// _daytank, daytank.fish and daytank.ps1 below the folder. The same commands, version
// and date give the same bytes. What is refused: a version or date of another form.
package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/cli"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "manual:", err)
		os.Exit(1)
	}
}

var versionForm = regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z.+~-]*$`)

// issue is what a page says about where it belongs.
type issue struct{ version, date string }

func run(args []string) error {
	if len(args) != 3 {
		return fmt.Errorf("call it as: manual VERSION DATE FOLDER")
	}
	of := issue{version: args[0], date: args[1]}
	if !versionForm.MatchString(of.version) {
		return fmt.Errorf("%q is no version", of.version)
	}
	if _, err := time.Parse(time.DateOnly, of.date); err != nil {
		return fmt.Errorf("%q is no date such as 2026-03-14", of.date)
	}
	files := pages(cli.Commands(), of)
	scripts, err := completions(cli.Commands())
	if err != nil {
		return err
	}
	for name, text := range scripts {
		files[name] = text
	}
	return write(args[2], files)
}

// pages gives a manual page for every command by the name of its file.
func pages(root *cobra.Command, of issue) map[string][]byte {
	files := map[string][]byte{}
	every(root, func(c *cobra.Command) {
		files["man1/"+pageName(c)+".1"] = page(c, of)
	})
	return files
}

// every goes over a command and all below it that help shows.
func every(c *cobra.Command, do func(*cobra.Command)) {
	do(c)
	for _, child := range c.Commands() {
		if child.IsAvailableCommand() {
			every(child, do)
		}
	}
}

// completions gives the scripts by the names under which shells look for them.
func completions(root *cobra.Command) (map[string][]byte, error) {
	files := map[string][]byte{}
	for shell, name := range map[string]string{
		"bash": "daytank.bash", "zsh": "_daytank", "fish": "daytank.fish", "powershell": "daytank.ps1",
	} {
		var script bytes.Buffer
		if err := cli.WriteCompletion(&script, root, shell); err != nil {
			return nil, err
		}
		files["completions/"+name] = script.Bytes()
	}
	return files, nil
}

func write(folder string, files map[string][]byte) error {
	for name, text := range files {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, text, 0o644); err != nil {
			return err
		}
	}
	return nil
}
