package report

import (
	"fmt"
	"io"
	"strings"

	"daytank/planner/quantity"
	"daytank/procedures/checklist"
)

// JobText writes a record for a person: where it stands, what is open, the
// steps with planned and taken time, the readings, and the timeline if wanted.
func JobText(w io.Writer, j Job, timeline bool, show quantity.Printer) {
	fmt.Fprintf(w, "%s  %s\n", j.Name, Plain(j.Title))
	fmt.Fprintf(w, "%s, by %s, made %s; %d events, head %s\n", strings.ToUpper(j.State), Plain(j.Operator), j.Created, j.Events, j.Head)
	if j.Demo {
		fmt.Fprintln(w, "DEMONSTRATION: nobody did this work")
	}
	if j.Paper != nil {
		fmt.Fprintln(w, wrapped(Plain(j.Paper.Sentence()), ""))
	}
	fmt.Fprintln(w)
	for _, s := range j.SignOffs {
		fmt.Fprintln(w, wrapped(s.Sentence, ""))
	}
	recordText(w, j, timeline, show)
	fmt.Fprintln(w)
	cautionsText(w)
}

func cautionsText(w io.Writer) {
	for _, c := range Cautions() {
		fmt.Fprintln(w, wrapped(c, ""))
	}
}

// recordText writes what a record holds.
func recordText(w io.Writer, j Job, timeline bool, show quantity.Printer) {
	said(w, "open", j.Open)
	for _, a := range j.Acknowledged {
		fmt.Fprintln(w, wrapped(fmt.Sprintf("CAUTION %s", a.Message), "  "))
		fmt.Fprintln(w, wrapped(fmt.Sprintf("answered: %s", a.Words), "    "))
	}
	steps(w, j)
	readings(w, j, Amounts{show})
	tests(w, j)
	remarks(w, "alarms", j.Alarms)
	remarks(w, "deviations", j.Deviations)
	remarks(w, "notes", j.Notes)
	photos(w, j.Photos)
	if timeline {
		fmt.Fprintln(w, "\ntimeline")
		for i, l := range j.Timeline {
			if day := j.DayOf(i); day != "" {
				fmt.Fprintf(w, "  %s\n", Plain(day))
			}
			fmt.Fprintf(w, "  %4d  %s  %-17s %s\n", l.Seq, l.At, l.Kind, Plain(l.Text))
		}
	}
}

func said(w io.Writer, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintln(w, title)
	for _, l := range lines {
		fmt.Fprintln(w, wrapped(l, "  "))
	}
	fmt.Fprintln(w)
}

// tests lists the idle tests; what they show is for daytank test compare.
func tests(w io.Writer, j Job) {
	if len(j.Tests) == 0 {
		return
	}
	fmt.Fprintln(w, "\nidle tests")
	for _, b := range j.Tests {
		var said []string
		for _, r := range b.Readings {
			said = append(said, fmt.Sprintf("%s %s %s", r.Channel, r.Text, r.Unit))
		}
		switch {
		case b.File != "":
			said = append(said, fmt.Sprintf("read from %s, %.16s", b.File, b.Source.String()))
		case !b.Samples.IsZero():
			said = append(said, "typed minute by minute")
		case !b.Measurable:
			said = append(said, "none")
		}
		for _, c := range b.Conditions {
			said = append(said, c.Name+" "+c.Was)
		}
		for _, x := range b.Between {
			said = append(said, "since the tests before: "+x.What)
		}
		fmt.Fprintln(w, wrapped(fmt.Sprintf("%s, %s  %s: %s", b.Phase, b.State, b.On, strings.Join(said, "; ")), "  "))
	}
}

func remarks(w io.Writer, title string, all []Said) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	for _, s := range all {
		fmt.Fprintln(w, wrapped(s.When()+" "+strings.TrimPrefix(s.Step+": "+s.Text, ": "), "  "))
	}
}

func photos(w io.Writer, all []Photo) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintln(w, "\nphotos")
	for _, p := range all {
		fmt.Fprintf(w, "  %s  %s, %.16s\n", Plain(p.Step), Plain(p.File), p.Digest)
	}
}

func steps(w io.Writer, j Job) {
	phase := ""
	for _, s := range j.Steps {
		if s.Phase != phase {
			phase = s.Phase
			fmt.Fprintf(w, "\n%-52s%9s%9s\n", phase, "planned", "taken")
		}
		taken := ""
		if s.TakenS != nil {
			taken = seconds(*s.TakenS)
		}
		fmt.Fprintf(w, "  %-11s %-38s%9s%9s\n", s.Status, cut(Plain(s.Step), 36), seconds(s.PlannedS), taken)
		if detail := s.detail(); detail != "" {
			fmt.Fprintln(w, wrapped(detail, "              "))
		}
	}
	fmt.Fprintf(w, "\n%-52s%9s%9s\n", "together", seconds(j.Planned*60), seconds(j.Taken*60))
}

// detail gives what was entered at a step; a value that a later one replaced
// stands in brackets as replaced.
func (s Step) detail() string {
	var parts []string
	for _, v := range s.Values {
		text := strings.TrimSpace(strings.TrimSpace(v.Field+" "+v.Text) + " " + v.Unit)
		switch {
		case v.Struck:
			text = "[replaced: " + text + "]"
		case v.Why != "":
			text += " (corrected: " + v.Why + ")"
		}
		parts = append(parts, text)
	}
	if s.Proof != "" {
		parts = append(parts, "proof: "+s.Proof)
	}
	if s.Released != "" {
		parts = append(parts, "released by "+s.Released)
	}
	if s.Skipped != "" {
		parts = append(parts, "skipped: "+s.Skipped)
	}
	if s.Again > 0 {
		parts = append(parts, fmt.Sprintf("asked again %d times", s.Again))
	}
	return strings.Join(parts, "; ")
}

func readings(w io.Writer, j Job, a Amounts) {
	if len(j.Readings) == 0 {
		return
	}
	if j.BurnRead != nil {
		defer fmt.Fprintln(w, Wrap(j.BurnRead.Sentence(a.Printer), "  ", 79))
	}
	fmt.Fprintf(w, "\n%-10s%8s%12s%12s%14s\n", "readings", "stage", "level", "expected", "temperature")
	for _, r := range j.Readings {
		when := checklist.Clock(int64(r.RunMin * 60000))
		if r.Baseline {
			when = "baseline"
		}
		fmt.Fprintf(w, "  %8s%8d%12s%12s%14s%s\n", when, r.Stage, a.MLOr(r.LevelML), a.MLOr(r.ExpectedML), a.CelsiusFine(r.Temperature), Plain(r.mark()))
	}
}

// mark says that a reading was replaced, or is what replaced one.
func (r Reading) mark() string {
	switch {
	case r.Struck:
		return "  [replaced]"
	case r.Why != "":
		return "  corrected: " + r.Why
	}
	return ""
}

func seconds(s float64) string { return checklist.Clock(int64(s * 1000)) }

// cut shortens a text with a mark.
func cut(text string, columns int) string {
	r := []rune(text)
	if len(r) <= columns {
		return text
	}
	return string(r[:columns-1]) + "…"
}
