package report

import (
	"fmt"
	"io"
	"strings"
	"time"

	"daytank/planner/idletest"
	"daytank/procedures/record"
	"daytank/procedures/review"
)

// ReviewRow is one job of the queue.
type ReviewRow struct {
	Job      string `json:"job"`
	Name     string `json:"name"`
	Asset    string `json:"asset"`
	Title    string `json:"title"`
	State    string `json:"state"`
	Result   string `json:"result"` // of the idle tests
	Worst    string `json:"worst"`
	Points   int64  `json:"points"` // to look at
	Operator string `json:"operator"`
	Updated  string `json:"updated"`
	Demo     bool   `json:"demo,omitempty"`
}

// OfQueue gives the row of a job; result is what its tests say in a few words.
func OfQueue(sum record.Summary, result string, zone *time.Location) ReviewRow {
	return ReviewRow{
		Job: sum.Job.String(), Name: Name(sum), Asset: sum.Asset, Title: sum.Title, State: string(sum.State), Result: result,
		Worst: sum.Weight.Worst().Words(), Points: sum.Weight.Points(), Operator: sum.Operator,
		Updated: sum.Updated.In(zone).Format("2006-01-02 15:04"), Demo: sum.Demo,
	}
}

// OneSided is the result where there are tests before or after only.
const OneSided = "on one side only"

// TestResult says in a few words what tests show: the verdict of each state.
func TestResult(c idletest.Comparison) string {
	var parts []string
	for _, o := range c.States {
		if o.Runs.After == 0 || o.Runs.Before == 0 {
			continue
		}
		parts = append(parts, fmt.Sprintf("%s %s", o.State, o.Verdict))
	}
	switch {
	case len(parts) == 0 && len(c.States) > 0:
		return OneSided
	case len(parts) == 0:
		return "none"
	}
	return strings.Join(parts, ", ")
}

// QueueText writes the queue, each column as wide as what stands in it. From is the number
// of the first row.
func QueueText(w io.Writer, rows []ReviewRow, from int) {
	table := [][]string{{"", "job", "items", "worst", "by", "tests"}}
	for i, r := range rows {
		name := r.Name
		if r.Demo {
			name += " demo"
		}
		table = append(table, []string{fmt.Sprint(from + i), Plain(name), fmt.Sprint(r.Points), r.Worst, Plain(r.Operator), r.Result})
	}
	widths := widthsOf(table)
	for _, row := range table {
		line := fmt.Sprintf("%*s  %-*s  %*s  %-*s  %-*s  %s", widths[0]+1, row[0], widths[1], row[1], widths[2], row[2], widths[3], row[3], widths[4], row[4], row[5])
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}

// ReviewSheet is all that a reviewer sees of a job.
type ReviewSheet struct {
	Name      string         `json:"name"`
	Title     string         `json:"title"`
	State     string         `json:"state"`
	Due       string         `json:"due"` // which sign-off: work, result or none
	Workers   []string       `json:"workers"`
	Intact    bool           `json:"intact"`
	Damage    string         `json:"damage,omitempty"`
	Head      string         `json:"head"` // first 16 digits
	Events    int64          `json:"events"`
	Planned   float64        `json:"planned_min"`
	Taken     float64        `json:"taken_min"`
	Items     []ReviewItem   `json:"items"`
	Remarks   []ReviewRemark `json:"remarks"` // that it was sent back for
	SignOffs  []SignOff      `json:"sign_offs"`
	Result    string         `json:"result"`            // of the tests
	Verdict   string         `json:"verdict"`           // in a sentence
	Than      string         `json:"than,omitempty"`    // the asset's last signed job
	Differs   []string       `json:"differs"`           // from it
	Signers   string         `json:"signers,omitempty"` // file
	SignersID string         `json:"signers_sha256,omitempty"`
	Demo      bool           `json:"demo,omitempty"`
}

// ReviewItem is one thing to look at.
type ReviewItem struct {
	Weight int64  `json:"weight"` // the worst is the highest
	Seq    int64  `json:"seq,omitempty"`
	Step   string `json:"step,omitempty"`
	Text   string `json:"text"`
}

// ReviewRemark is what a job was sent back for, with what was explained.
type ReviewRemark struct {
	Step      string   `json:"step,omitempty"`
	Text      string   `json:"text"`
	By        string   `json:"by"`
	Explained []string `json:"explained"`
}

// SignOff is a sign-off with what it is worth.
type SignOff struct {
	Seq      int64    `json:"seq"`
	Which    string   `json:"which"`
	By       string   `json:"by"`
	At       string   `json:"at"`
	Verdict  string   `json:"verdict"`
	Remarks  string   `json:"remarks,omitempty"`
	Key      string   `json:"key,omitempty"` // fingerprint
	Valid    bool     `json:"valid"`
	Problem  string   `json:"problem,omitempty"`
	VoidBy   int64    `json:"void_by,omitempty"`
	Later    int      `json:"later,omitempty"` // entries after it
	Released []string `json:"released,omitempty"`
	Sentence string   `json:"sentence"`
}

// OfSignOff gives a sign-off as it is shown.
func OfSignOff(s review.Standing, zone *time.Location) SignOff {
	return SignOff{
		Seq: s.Seq, Which: s.SignOff.Which, By: s.SignOff.Principal, At: s.SignOff.At.In(zone).Format(time.RFC3339),
		Verdict: s.SignOff.Verdict, Remarks: s.SignOff.Remarks, Key: s.Key, Valid: s.Valid(), Problem: s.Problem,
		VoidBy: s.VoidBy, Later: len(s.Later), Released: s.Released, Sentence: s.Words(),
	}
}

// SheetText writes what a reviewer sees, what weighs most first.
func SheetText(w io.Writer, s ReviewSheet, columns int) {
	put := func(indent, text string) { fmt.Fprintln(w, Wrap(Plain(text), indent, columns)) }
	fmt.Fprintf(w, "%s  %s\n", Plain(s.Name), Plain(s.Title))
	due := "nothing to sign"
	if s.Due != "" {
		due = "waits for the sign-off of the " + s.Due
	}
	put("", fmt.Sprintf("%s, by %s; %s", strings.ToUpper(s.State), strings.Join(s.Workers, ", "), due))
	if s.Demo {
		put("", "DEMONSTRATION: nobody did this work.")
	}
	if s.Intact {
		put("", fmt.Sprintf("record intact, %d entries, head %s", s.Events, s.Head))
	} else {
		put("", "RECORD DAMAGED: "+s.Damage)
	}
	put("", fmt.Sprintf("%.0f min of about %.0f min planned; tests: %s", s.Taken, s.Planned, s.Result))
	if s.Verdict != "" {
		put("  ", s.Verdict)
	}
	for _, o := range s.SignOffs {
		put("", o.Sentence)
		if o.Remarks != "" {
			put("  ", o.Remarks)
		}
	}
	for _, r := range s.Remarks {
		put("", "SENT BACK by "+r.By+" for "+strings.TrimPrefix(r.Step+": ", ": ")+r.Text)
		for _, e := range r.Explained {
			put("  ", "explained by "+e)
		}
	}
	fmt.Fprintf(w, "\nto look at, the worst first (%d)\n", len(s.Items))
	listed := func(text string) {
		fmt.Fprintln(w, "  - "+strings.TrimLeft(Wrap(Plain(text), "    ", columns), " "))
	}
	for _, i := range s.Items {
		where := ""
		if i.Step != "" {
			where = i.Step + ": "
		}
		listed(where + i.Text)
	}
	if len(s.Items) == 0 {
		put("  ", "nothing")
	}
	if s.Than != "" {
		fmt.Fprintf(w, "\notherwise than in %s, the last job of it that was signed (%d)\n", Plain(s.Than), len(s.Differs))
		for _, d := range s.Differs {
			listed(d)
		}
	}
}
