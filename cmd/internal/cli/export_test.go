package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// vanRecord is the record of the demo van, walked to its end with a few turns. It
// is kept as it was written: later versions read it and show its own numbers.
var vanRecord = filepath.Join(root, "testdata", "records", "van.jsonl")

// writeRecord walks a job and writes its record.
func writeRecord(t *testing.T, file, job string, o odd) {
	w, clock := newJobOf(t, job)
	w.talk = &oddActor{actor: actor{walker: w, clock: clock}, odd: o}
	if err := w.walk(t.Context()); err != nil {
		t.Fatal(err)
	}
	events, err := w.store.Events(t.Context(), w.sitting.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	x, err := record.Gather(w.sitting.Summary.Job, events, func(h record.Hash) ([]byte, error) { return w.store.Blob(t.Context(), h) })
	if err != nil {
		t.Fatal(err)
	}
	written(t, x, file)
}

// A record that was exported by an earlier version is taken in, shown with its own
// numbers, and exported again as the same bytes.
func TestKeptRecord(t *testing.T) {
	was, err := os.ReadFile(vanRecord)
	if err != nil {
		t.Fatal(err)
	}
	home := t.TempDir()
	file, err := filepath.Abs(vanRecord)
	if err != nil {
		t.Fatal(err)
	}
	for _, command := range [][]string{{"verify", file}, {"import", file}, {"verify", "VAN-07/1"}} {
		if out, code := runAs(t, home, command...); code != 0 {
			t.Fatalf("%q: status %d\n%s", command, code, out)
		}
	}
	if got, code := runAs(t, home, "export", "VAN-07/1", "--to", "-"); code != 0 || got != string(was) {
		t.Errorf("exported again: status %d\n%s", code, cmp.Diff(strings.Split(string(was), "\n"), strings.Split(got, "\n")))
	}
	out, code := runAs(t, home, "show", "VAN-07/1", "--json")
	var job report.Job
	if err := json.Unmarshal([]byte(out), &job); code != 0 || err != nil {
		t.Fatalf("show: status %d, %v", code, err)
	}
	if job.State != "to review" || job.Plan == nil || job.Plan.Fluid.NeededML != 1444.6 {
		t.Errorf("state %s, plan %+v", job.State, job.Plan)
	}
	// What was corrected is struck through and stays: temperature of the air and a level.
	struck := map[string]string{}
	for _, s := range job.Steps {
		for i, v := range s.Values {
			if v.Struck && i+1 < len(s.Values) {
				struck[s.Step] = v.Text + " -> " + s.Values[i+1].Text + " " + s.Values[i+1].Why
			}
		}
	}
	if got, want := struck["air-temperature"], "18 -> 17.5 the sun was on it"; got != want {
		t.Errorf("air temperature %q, want %q", got, want)
	}
	for i, r := range job.Readings {
		if r.Struck && (*r.LevelML != 1335 || *job.Readings[i+1].LevelML != 1325 || job.Readings[i+1].Why != "misread by one mark") {
			t.Errorf("reading %+v, then %+v", r, job.Readings[i+1])
		}
	}
	if len(job.Deviations) != 2 || !strings.Contains(job.Deviations[0].Text, "quay wall") {
		t.Errorf("deviations %+v", job.Deviations)
	}
}

// The pickup's record is that of the README's review: it verifies, and has what the page
// shows.
func TestPickupRecord(t *testing.T) {
	file := filepath.Join(root, "testdata", "records", "pickup.jsonl")
	if *update {
		writeRecord(t, file, filepath.Join(root, "testdata", "jobs", "pickup.yaml"), odd{
			"gloves-on": {"s no gloves of that size here"}, "rig-look": {"wet"},
			"waste-measured": {"900"},
		})
	}
	home := t.TempDir()
	if out, code := runAs(t, home, "import", file); code != 0 {
		t.Fatalf("status %d, %s", code, out)
	}
	out, code := runAs(t, home, "review", "PICK-04/1", "--json")
	var sheet report.ReviewSheet
	if err := json.Unmarshal([]byte(out), &sheet); code != 0 || err != nil {
		t.Fatalf("review: status %d, %v", code, err)
	}
	if sheet.Due != record.SignOffWork || !sheet.Intact || len(sheet.Items) < 5 || len(sheet.SignOffs) != 0 {
		t.Errorf("%+v", sheet)
	}
}

// A record is taken in whole, once, or what goes on from it; never where it tells
// another story.
func TestImport(t *testing.T) {
	text, err := os.ReadFile(vanRecord)
	if err != nil {
		t.Fatal(err)
	}
	x, err := record.ReadExport(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	part := x
	part.Events = x.Events[:50]
	kept := store.OpenMemory()
	for _, step := range []struct {
		x    record.Export
		says string
	}{
		{part, "50 events kept"},
		{part, "here already, nothing was changed"},
		{x, "events added"},
		{x, "here already, nothing was changed"},
		{part, "here already, with"},
	} {
		what, err := take(t.Context(), kept, step.x)
		if err != nil || !strings.Contains(what, step.says) {
			t.Errorf("%d events: %q, %v; want %q", len(step.x.Events), what, err, step.says)
		}
	}
	fork := x
	stamp := record.Stamp{At: x.Events[60].At, MonoMS: 1, Run: x.Events[60].Run, By: "Somebody Else"}
	other, _, err := record.Seal(x.Events[59].Head(), stamp, record.Note{Text: "another story"})
	if err != nil {
		t.Fatal(err)
	}
	fork.Events = append(x.Events[:60:60], other...)
	if what, err := take(t.Context(), kept, fork); err == nil || !strings.Contains(err.Error(), "another story") || !strings.Contains(err.Error(), "from event 61") {
		t.Errorf("a fork: %q, %v", what, err)
	}
	events, err := kept.Events(t.Context(), x.Job)
	if err != nil || len(events) != len(x.Events) || events[len(events)-1].Hash != x.Head().Hash {
		t.Errorf("%d events after it, %v", len(events), err)
	}
}

// What is typed for a file is told without the characters that would do something to the
// terminal.
func TestCheckWritesPlainly(t *testing.T) {
	r := (office{home: t.TempDir()}).run(t, "check", "--config", "\x1b[31mred\x07\u009b\u202e")
	if r.Code != Failed || !strings.Contains(r.Stdout, "NOT SOUND") || strings.ContainsAny(r.Stdout+r.Stderr, "\x1b\x07\u009b\u202e") {
		t.Errorf("status %d, %q, %q", r.Code, r.Stdout, r.Stderr)
	}
}

// A look at an empty machine makes nothing, and tells whether the first job could be kept.
func TestCheckMakesNothing(t *testing.T) {
	at := office{home: t.TempDir()}
	if said := at.done(t, "check"); !strings.Contains(said, "none yet; they begin with the first job") {
		t.Errorf("%s", said)
	}
	if made, err := os.ReadDir(at.home); err != nil || len(made) > 0 {
		t.Errorf("made: %v, %v", made, err)
	}
	file := filepath.Join(at.home, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	r := at.run(t, "check", "--store", filepath.Join(file, "records.db"))
	if r.Code != Failed || !strings.Contains(r.Stdout, "NOT SOUND") {
		t.Errorf("below a file: status %d, %s", r.Code, r.Stdout)
	}
}

// In a file of records that is damaged nothing verifies, whatever is asked of it; what is no
// such file does not read. An empty one says that it holds no job.
func TestDamagedStore(t *testing.T) {
	at := office{home: t.TempDir()}
	at.done(t, "import", vanRecord)
	file := filepath.Join(at.home, ".local/share/daytank/records.db")
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		text []byte
		code Code
		says string
	}{
		{"cut", whole[:len(whole)/2], Unverified, "the file is damaged"},
		{"cut in its first page", whole[:100], Unverified, "the file is damaged"},
		{"of another program", []byte("engine: {id: boat-5-1}\n" + strings.Repeat("# \n", 200)), Usage, "not a record store of this program"},
		{"empty", nil, Done, "no jobs"},
		{"whole", whole, Done, "VAN-07/1"},
	} {
		if err := os.WriteFile(file, c.text, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, command := range []string{"verify", "jobs"} {
			r := at.run(t, command)
			if r.Code != c.code || !strings.Contains(r.Stdout+r.Stderr, c.says) {
				t.Errorf("%s, %s: status %d, %s%s", c.name, command, r.Code, r.Stdout, r.Stderr)
			}
			if c.code != Done && !strings.Contains(r.Stderr, "hint: ") {
				t.Errorf("%s, %s gives no remedy: %s", c.name, command, r.Stderr)
			}
		}
	}
}
