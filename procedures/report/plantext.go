package report

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures/checklist"
	"daytank/safety"
)

// PlanText writes the plan for a person: what matters first.
func PlanText(w io.Writer, j planner.Job, p planner.Plan, a safety.Assessment, list *checklist.Checklist, show quantity.Printer) {
	PlanTextIn(w, textWidth, j, p, a, list, show)
}

// PlanTextIn is [PlanText] for a page of so many columns. Tables and pictures keep
// the width that they have.
func PlanTextIn(w io.Writer, columns int, j planner.Job, p planner.Plan, a safety.Assessment, list *checklist.Checklist, show quantity.Printer) {
	t := planText{w: w, columns: columns, job: j, plan: p, assessment: a, show: show}
	t.head()
	t.threeNumbers()
	t.findings()
	t.fluid()
	t.levels()
	t.picture()
	t.rig(list)
	t.afterwards()
	fmt.Fprintln(w)
	for _, c := range Cautions() {
		fmt.Fprintln(w, t.wrapped(c, ""))
	}
}

// planText writes a plan piece by piece.
type planText struct {
	w          io.Writer
	columns    int
	job        planner.Job
	plan       planner.Plan
	assessment safety.Assessment
	show       quantity.Printer
}

const textWidth = 79

// wrapped breaks a text into lines of the page, each behind the indent.
func (t planText) wrapped(text, indent string) string { return Wrap(text, indent, t.columns) }

// wrapped breaks a text into lines of a page, each behind the indent.
func wrapped(text, indent string) string { return Wrap(text, indent, textWidth) }

// Wrap breaks a text at spaces into lines of at most so many columns, each
// behind the indent, and makes it [Plain]. A word that is longer stands alone.
func Wrap(text, indent string, columns int) string {
	var b strings.Builder
	at := 0
	room := max(columns-utf8.RuneCountInString(indent), 10)
	for word := range strings.FieldsSeq(Plain(text)) {
		n := utf8.RuneCountInString(word)
		switch {
		case at == 0:
			b.WriteString(indent)
		case at+1+n > room:
			b.WriteString("\n" + indent)
			at = 0
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return b.String()
}

func (t planText) head() {
	title := t.job.Title
	if title == "" {
		title = "Concentrate clean"
	}
	fmt.Fprintf(t.w, "%s: %s, %s\n", t.job.Asset, Plain(title), t.job.Date)
	stops := len(t.assessment.Of(safety.Stop))
	if stops == 0 {
		fmt.Fprintf(t.w, "READY to walk, with %s to answer for\n\n", Counted(len(t.assessment.Of(safety.Caution)), "caution"))
		return
	}
	fmt.Fprintf(t.w, "NOT READY: %s to lift first\n\n", Counted(stops, "stop"))
}

// counted gives a number with its noun: no cautions, 1 pack, 3 packs.
// Counted gives a number of things in words: no remarks, 1 remark, 2 remarks.
func Counted(n int, noun string) string {
	switch n {
	case 0:
		return "no " + noun + "s"
	case 1:
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func (t planText) threeNumbers() {
	f, d, h, s := t.plan.Fluid, t.plan.RunDry, t.plan.Heat, t.show
	fmt.Fprintf(t.w, "  how much    %s   %s of %s; %s are needed\n", s.Volume(f.Charge), Counted(f.Packs, "pack"), s.Volume(t.job.Fluid.Pack), s.Volume(f.Needed))
	fmt.Fprintf(t.w, "  until when  %s   or when %s are left, whichever is first\n", s.Duration(t.plan.Run), s.VolumeFine(d.StopLevel))
	switch {
	case d.Earliest == nil:
		fmt.Fprintf(t.w, "              the stop level is not kept at all\n")
	default:
		fmt.Fprintf(t.w, "              (at the earliest after %s)\n", s.DurationFine(*d.Earliest))
	}
	fmt.Fprintf(t.w, "  how hot     %s   expected, %s at worst; warm from %s, off at %s\n\n",
		s.Temperature(h.Peak.Expected), s.Temperature(h.Peak.High), s.Temperature(h.Warm), s.Temperature(h.Hot))
}

// findings lists stops, cautions and notes with what lifts them.
func (t planText) findings() {
	for _, f := range t.assessment.Worded(t.show) {
		word := strings.ToUpper(f.Severity)
		fmt.Fprintf(t.w, "%-8s%s\n", word, strings.TrimLeft(t.wrapped(f.Message, "        "), " "))
		if f.Lift != "" {
			fmt.Fprintln(t.w, t.wrapped("what lifts it: "+f.Lift, "        "))
		}
		for _, set := range f.Set {
			fmt.Fprintf(t.w, "        --set '%s'\n", set)
		}
		fmt.Fprintf(t.w, "        (%s)\n", f.Rule)
	}
	if len(t.assessment.Findings) > 0 {
		fmt.Fprintln(t.w)
	}
}

func (t planText) fluid() {
	f, b, s := t.plan.Fluid, t.plan.Burn, t.show
	fmt.Fprintln(t.w, "where the fluid goes")
	lines := [][3]string{
		{"burned", s.VolumeFine(b.Expected), fmt.Sprintf("%s to %s; idle %s, %s", s.VolumeFine(b.Low), s.VolumeFine(b.High), s.Flow(t.plan.IdleBurn.Expected), t.plan.BurnSource)},
		{"first flush", s.VolumeFine(f.Flush), "to waste, some " + s.DurationFine(f.FlushTime)},
		{"in the hoses", s.VolumeFine(f.Hoses), ""},
		{"reserve", s.VolumeFine(f.Reserve), fmt.Sprintf("of it %s too low for the pick-up", s.VolumeFine(f.Unusable))},
		{"left over", s.VolumeFine(f.Leftover), "expected, in container and hoses"},
	}
	for _, l := range lines {
		fmt.Fprintf(t.w, "  %-14s%10s   %s\n", l[0], l[1], l[2])
	}
	fmt.Fprintf(t.w, "  the fluid in the loop is %.0f %% pure after the flush\n\n", 100*f.Strength)
}

func (t planText) levels() {
	fmt.Fprintln(t.w, "what the container should read")
	fmt.Fprintf(t.w, "  %8s  %10s  %10s  %10s  %12s\n", "after", "lowest", "expected", "highest", "temperature")
	for _, l := range t.plan.Levels {
		fmt.Fprintf(t.w, "  %8s  %10s  %10s  %10s  %12s\n", t.show.DurationFine(l.At), t.show.VolumeFine(l.Volume.Low),
			t.show.VolumeFine(l.Volume.Expected), t.show.VolumeFine(l.Volume.High), t.show.Temperature(l.Temperature))
	}
	d := t.plan.RunDry
	slips := fmt.Sprintf("if the return slips out the container is empty in %s at the start, %s at the planned end", t.show.DurationFine(d.AtStart), t.show.DurationFine(d.AtEnd))
	if d.AtStopLevel != nil {
		slips += fmt.Sprintf(", %s at the stop level", t.show.DurationFine(*d.AtStopLevel))
	}
	fmt.Fprintf(t.w, "%s\n\n", t.wrapped(slips, "  "))
}

// afterwards says what is left to take away, and what goes into the tanks.
func (t planText) afterwards() {
	s, p := t.show, t.plan
	fmt.Fprintln(t.w, "\nafterwards")
	fmt.Fprintln(t.w, t.wrapped(fmt.Sprintf("waste %s, into a can of %s or more; the first start washes %s of fluid back into the tank",
		s.Volume(p.Waste.Liquid), s.Volume(p.Waste.Container), s.VolumeFine(p.Returned)), "  "))
	if len(p.Doses) == 0 {
		return
	}
	fmt.Fprintln(t.w, "  into the tanks, after the second test (before it, it would blur the result):")
	DoseText(t.w, p.Doses, t.job.TankDose.Measure, s)
}

// smallest says which bore of hose would do.
func smallest(q *planner.Suction, show quantity.Printer) string {
	if q.SmallestBore == nil {
		return "; no bore is wide enough"
	}
	return fmt.Sprintf("; %s of bore would do", show.Length(*q.SmallestBore))
}

func (t planText) rig(list *checklist.Checklist) {
	s, p := t.show, t.plan
	fmt.Fprintln(t.w, "rig and priming")
	fmt.Fprintf(t.w, "  supply hose   %s bore, %s long, to stand %s\n", s.Length(t.job.Rig.SupplyHose.Bore), s.Length(t.job.Rig.SupplyHose.Length), s.Temperature(p.Supply.Required))
	fmt.Fprintf(t.w, "  return hose   %s bore, %s long, to stand %s\n", s.Length(t.job.Rig.ReturnHose.Bore), s.Length(t.job.Rig.ReturnHose.Length), s.Temperature(p.Return.Required))
	if q := p.Suction; q != nil {
		fmt.Fprintln(t.w, t.wrapped(fmt.Sprintf("suction %s at worst (%s expected) of %s: hose %s, lift %s, filters %s%s",
			s.Pressure(q.Total), s.Pressure(q.Expected), s.Pressure(q.Limit), s.Pressure(q.Friction), s.Pressure(q.Lift), s.Pressure(q.Filter), smallest(q, s)), "  "))
	}
	fmt.Fprintf(t.w, "  return        against %s\n", s.Pressure(p.ReturnHead))
	count := fmt.Sprintf("%d key cycles", p.Priming.KeyCycles)
	if p.Priming.Method == "hand" {
		count = fmt.Sprintf("%d strokes of the hand primer", p.Priming.Strokes)
	}
	fmt.Fprintln(t.w, t.wrapped(fmt.Sprintf("priming %s: about %s, until fuel is seen; at %d stop and look; starter %s, rest %s, at most %d times",
		s.Volume(p.Priming.Volume), count, p.Priming.Limit, s.Duration(p.Priming.Crank.For), s.Duration(p.Priming.Crank.Rest), p.Priming.Crank.Attempts), "  "))
	if list != nil {
		fmt.Fprintf(t.w, "  work of about %s, %d steps\n", s.Duration(quantity.Duration(float64(list.PlannedMS())/1000)), len(list.Sitting()))
	}
	if p.Cost != nil {
		fmt.Fprintf(t.w, "  fluid for %.2f\n", *p.Cost)
	}
}
