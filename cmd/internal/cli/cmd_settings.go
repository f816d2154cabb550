package cli

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/settings"
)

// newSettingsCommand makes `daytank settings`.
func newSettingsCommand(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "settings",
		Short: "show every setting and where it came from",
		Long:  "Shows every setting, its value, and where the value came from.\n\n" + settingsHelp(),
		Example: `  daytank settings
  daytank settings --units us --json`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			s, err := a.settings()
			if err != nil {
				return err
			}
			if asJSON {
				return writeSettingsJSON(a.env.Stdout, s)
			}
			return writeSettings(a.env.Stdout, s)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

// settingsHelp lists the keys; it is made from the table, so that it cannot
// fall behind it.
func settingsHelp() string {
	var b strings.Builder
	for _, key := range settings.Keys() {
		fmt.Fprintf(&b, "%s\n    %s\n", key.Name, key.Doc)
		if len(key.Accepted) > 0 {
			fmt.Fprintf(&b, "    accepts %s; ", strings.Join(key.Accepted, " or "))
		} else {
			b.WriteString("    ")
		}
		fmt.Fprintf(&b, "default: %s\n", key.Default)
	}
	b.WriteString(`
A flag wins over the environment (DAYTANK_ and the key in capitals), the
environment over the settings file, the file over the default. The file has
one line a setting, such as

  units: metric
  operator: Mara Quill

Relative paths in it are meant from its own folder; ~/ is the home folder.`)
	return b.String()
}

func writeSettings(w io.Writer, s settings.Settings) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(table, "key\tvalue\tfrom\n")
	for _, key := range settings.Keys() {
		text := s.Text(key.Name)
		if text == "" {
			text = "(not set)"
		}
		fmt.Fprintf(table, "%s\t%s\t%s\n", key.Name, prompt.Plain(text), s.Origin(key.Name))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "\n%s\n", fileLine(s))
	return err
}

func fileLine(s settings.Settings) string {
	path, read := s.File()
	switch {
	case path == "":
		return "settings file: no place for one, as the environment names no home folder"
	case !read:
		return fmt.Sprintf("settings file: %s (not there)", path)
	}
	return "settings file: " + path
}

// settingsJSON is the form of `daytank settings --json`.
type settingsJSON struct {
	File     string        `json:"file"`
	FileRead bool          `json:"file_read"`
	Settings []settingJSON `json:"settings"`
}

type settingJSON struct {
	Key      string   `json:"key"`
	Value    string   `json:"value"` // empty: not set
	From     string   `json:"from"`
	Accepted []string `json:"accepted,omitempty"`
	Doc      string   `json:"doc"`
}

func writeSettingsJSON(w io.Writer, s settings.Settings) error {
	out := settingsJSON{}
	out.File, out.FileRead = s.File()
	for _, key := range settings.Keys() {
		out.Settings = append(out.Settings, settingJSON{
			Key: key.Name, Value: s.Text(key.Name), From: s.Origin(key.Name),
			Accepted: key.Accepted, Doc: key.Doc,
		})
	}
	return writeJSON(w, out)
}
