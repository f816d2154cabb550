package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/procedures/record"
)

// A job file with such texts is refused, or planned and printed with them as texts.
func TestNaughtyJobFile(t *testing.T) {
	o := office{home: t.TempDir()}
	van, err := os.ReadFile(vanFile)
	if err != nil {
		t.Fatal(err)
	}
	taken := 0
	for _, s := range enough(naughty) {
		quoted, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		text := van
		for _, place := range []string{"title: Van 7, spring service", "name: cleaner A", "symptom: uneven idle when warm"} {
			key, _, _ := strings.Cut(place, ":")
			if !bytes.Contains(text, []byte(place)) {
				t.Fatalf("%s has no %s", vanFile, place)
			}
			text = bytes.Replace(text, []byte(place), fmt.Appendf(nil, "%s: %s", key, quoted), 1)
		}
		file := filepath.Join(o.home, "job.yaml")
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"plan", file}, {"plan", file, "--json"}, {"plan", file, "--needs"}, {"plan", file, "--sheet", "-"}, {"library", "check", file}} {
			got := o.run(t, args...)
			if got.Code != Done && got.Code != Usage {
				t.Errorf("%q: %q: status %d", s, args, got.Code)
			}
			inert(t, fmt.Sprintf("%q: %q", s, args), got.Stdout)
			inert(t, fmt.Sprintf("%q: %q, said beside it", s, args), got.Stderr)
			if got.Code == Done {
				taken++
			}
		}
	}
	if taken == 0 {
		t.Error("no job file was taken")
	}
}

// A setting with such texts is refused, or shown as a text.
func TestNaughtySettings(t *testing.T) {
	home := t.TempDir()
	for _, s := range enough(naughty) {
		if strings.Contains(s, "\x00") { // no environment can hold it
			continue
		}
		o := office{home: home, environ: []string{"DAYTANK_SHOP=" + s, "DAYTANK_EMERGENCY_NUMBER=" + s, "DAYTANK_OPERATOR=" + s}}
		for _, args := range [][]string{{"settings"}, {"settings", "--json"}, {"plan", vanFile, "--sheet", "-"}} {
			got := o.run(t, args...)
			inert(t, fmt.Sprintf("%q: %q", s, args), got.Stdout)
			inert(t, fmt.Sprintf("%q: %q, said beside it", s, args), got.Stderr)
			if strings.Contains(got.Stdout, "<script>") && args[0] == "plan" {
				t.Errorf("%q stands as a tag on the sheet", s)
			}
		}
	}
}

// What is exported stands in the folder it was asked for in, whatever an asset or a sign-off
// is called.
func TestExportStaysInItsFolder(t *testing.T) {
	o := office{home: t.TempDir()}
	x := retold(t, exported(t, vanRecord), uuid.UUID{6: 0x70, 8: 0x80, 15: 1}, func(by string) string { return by }, func(b record.Body) record.Body {
		if c, ok := b.(record.Created); ok {
			c.Asset = "../../out"
			return c
		}
		return b
	}, record.Signed{Which: "../../../work", Verdict: "fit"})
	o.append(t, x)
	dir := filepath.Join(t.TempDir(), "a", "b")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	o.done(t, "export", x.Job.String(), "--sign-offs", "signed")
	o.done(t, "report", x.Job.String())
	var got []string
	err := filepath.WalkDir(filepath.Dir(filepath.Dir(dir)), func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			path, err = filepath.Rel(dir, path)
			got = append(got, filepath.ToSlash(path))
		}
		return err
	})
	want := []string{"_.._out-1-00000001.html", "_.._out-1-00000001.jsonl", "signed/_.._out-1-00000001..._.._.._work-224.sig", "signed/_.._out-1-00000001..._.._.._work-224.txt"}
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
}
