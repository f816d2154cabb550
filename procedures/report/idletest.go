package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
)

// ComparisonText writes a comparison for a person: first the verdict in a sentence,
// then the tables and pictures of each state, then what would make it firmer. With
// details the numbers of the tests stand in it too.
func ComparisonText(w io.Writer, c idletest.Comparison, details bool, show quantity.Printer) {
	fmt.Fprintln(w, wrapped(show.Phrase(c.Sentence), ""))
	for _, o := range c.States {
		stateText(w, o, details, show)
	}
	spreadPicture(w, c, show)
	for _, o := range c.States {
		for _, runs := range [][]idletest.Reduced{o.Before, o.After} {
			for _, r := range runs {
				courseText(w, r, show)
			}
		}
	}
	remarksText(w, "besides", c.Warnings, show)
	remarksText(w, "what would make it firmer", c.Firmer, show)
}

func remarksText(w io.Writer, title string, remarks []idletest.Remark, show quantity.Printer) {
	if len(remarks) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	for _, r := range remarks {
		fmt.Fprintln(w, wrapped("- "+show.Phrase(r.Say), "  "))
	}
}

func stateText(w io.Writer, o idletest.Outcome, details bool, show quantity.Printer) {
	fmt.Fprintf(w, "\n%s: %s", strings.ToUpper(string(o.State)), o.Verdict)
	if o.Strength != "" {
		fmt.Fprintf(w, " (%s)", o.Strength)
	}
	of := ""
	if o.Runs.Before == 0 || o.Runs.After == 0 {
		of = " that count" // there may be others, which were too short or not as they have to be
	}
	fmt.Fprintf(w, "; %s before, %s after%s\n", Counted(o.Runs.Before, "run"), Counted(o.Runs.After, "run"), of)
	for _, r := range o.Reasons {
		fmt.Fprintln(w, wrapped("not comparable: "+show.Phrase(r.Say), "  "))
	}
	if o.Comparable {
		cylinderTable(w, o, show)
		if details {
			detailTable(w, o, show)
		}
	}
	for _, r := range o.Warnings {
		fmt.Fprintln(w, wrapped("note: "+show.Phrase(r.Say), "  "))
	}
}

// classWords say what a cylinder did.
var classWords = map[idletest.Class]string{
	idletest.Same: "same", idletest.Nearer: "nearer zero", idletest.Farther: "farther from zero",
	idletest.Crossed: "crossed zero", idletest.NotShown: "not shown",
}

func cylinderTable(w io.Writer, o idletest.Outcome, show quantity.Printer) {
	name := "cylinder"
	if o.Measure == idletest.Speed || o.Measure == idletest.Opacity {
		name = string(o.Measure)
	}
	fmt.Fprintf(w, "  %-10s%18s%18s%10s  %s\n", name, "before", "after", "change", "in "+string(o.Unit))
	side := func(s idletest.Side) string {
		text := show.Sprintf("%.2f ±%.2f", s.Mean, s.Half)
		if s.Recentred != nil {
			text += show.Sprintf(" (%.2f)", *s.Recentred)
		}
		return text
	}
	recentred := false
	for _, c := range o.Cylinders {
		recentred = recentred || c.Before.Recentred != nil || c.After.Recentred != nil
		fmt.Fprint(w, show.Sprintf("  %-10d%18s%18s%10.2f  %s\n", c.Cylinder, side(c.Before), side(c.After), c.Change, classWords[c.Class]))
	}
	s := o.Spread
	fmt.Fprint(w, show.Sprintf("  %-10s%18.2f%18.2f%10.2f  root mean square\n", "spread", s.BeforeRMS, s.AfterRMS, s.Change))
	fmt.Fprint(w, show.Sprintf("  %-10s%18.2f%18.2f\n", "range", s.BeforeRange, s.AfterRange))
	if recentred {
		fmt.Fprintln(w, "  in brackets: less the mean over the cylinders")
	}
	if o.Limit > 0 {
		source := "common practice"
		if o.Makers {
			source = "the engine maker's"
		}
		fmt.Fprintln(w, wrapped(show.Sprintf("limits: fine up to %g, suspect beyond %g (%s); a change matters from %g", o.Fine, o.Limit, source, o.Delta), "  "))
	}
	if o.Detectable != nil && *o.Detectable < 1e6 {
		fmt.Fprintln(w, wrapped(show.Sprintf("a change of one cylinder by %.2f would be seen in 4 of 5 such comparisons", *o.Detectable), "  "))
	}
	channelText(w, "load", " %", o.Load, show)
	channelText(w, "quantity", " mm3/stroke", o.Quantity, show)
}

func channelText(w io.Writer, name, unit string, both *idletest.BeforeAfter, show quantity.Printer) {
	if both == nil {
		return
	}
	one := func(c idletest.Change) string {
		return show.Sprintf("%.1f%s (start %.1f, end %.1f)", c.Mean, unit, c.Start, c.End)
	}
	fmt.Fprintln(w, wrapped(show.Sprintf("%s: before %s, after %s, %+.1f %%", name, one(both.Before), one(both.After), both.Change), "  "))
}

// detailTable writes the numbers behind the classes.
func detailTable(w io.Writer, o idletest.Outcome, show quantity.Printer) {
	fmt.Fprintf(w, "  %-3s%-8s%6s%7s%7s%7s%7s | %8s%7s%9s%9s%9s\n", "", "", "n", "sd", "lag-1", "n_eff", "se", "t", "df", "p", "p Holm", "p TOST")
	for _, c := range o.Cylinders {
		for i, s := range []idletest.Side{c.Before, c.After} {
			fmt.Fprint(w, show.Sprintf("  %-3d%-8s%6d%7.3f%7.3f%7.1f%7.3f |", c.Cylinder, []string{"before", "after"}[i], s.N, s.SD, s.Lag1, s.EffectiveN, s.SE))
			if i == 1 {
				fmt.Fprint(w, show.Sprintf(" %8.2f%7.1f%9.2g%9.2g%9.2g", c.T, c.DF, c.P, c.PHolm, c.TostP))
			}
			fmt.Fprintln(w)
		}
	}
	s := o.Spread
	fmt.Fprint(w, show.Sprintf("  spread: change %.3f, se %.3f, t %.2f, df %.1f, p %.2g\n", s.Change, s.SE, s.T, s.DF, s.P))
}

// Sizes of the picture: a label, and a scale for each of two states.
const (
	scaleWidth = 33 // odd, so that zero is a column
	labelWidth = 11
)

// spreadPicture draws each cylinder before and after with its 95 % interval, the
// states side by side on one scale.
func spreadPicture(w io.Writer, c idletest.Comparison, show quantity.Printer) {
	var drawn []idletest.Outcome
	reach, most := 0.0, 0
	for _, o := range c.States {
		if !o.Comparable || o.Measure == idletest.Speed || o.Measure == idletest.Opacity {
			continue
		}
		drawn = append(drawn, o)
		reach, most = max(reach, o.Limit), max(most, len(o.Cylinders))
		for _, cylinder := range o.Cylinders {
			for _, s := range []idletest.Side{cylinder.Before, cylinder.After} {
				reach = max(reach, math.Abs(s.Mean)+min(s.Half, 10))
			}
		}
	}
	if len(drawn) == 0 || reach == 0 {
		return
	}
	title := fmt.Sprintf("\n%-*s", labelWidth, "")
	for _, o := range drawn {
		title += show.Sprintf("%-*s  ", scaleWidth, show.Sprintf("%s, -%.3g to %.3g", o.State, reach, reach))
	}
	fmt.Fprintln(w, strings.TrimRight(title, " "))
	for i := range most {
		for k, label := range []string{"before", "after"} {
			line := fmt.Sprintf("%2d %-*s", i+1, labelWidth-3, label)
			for _, o := range drawn {
				if i >= len(o.Cylinders) {
					line += strings.Repeat(" ", scaleWidth+2)
					continue
				}
				s := o.Cylinders[i].Before
				mark := byte('o')
				if k == 1 {
					s, mark = o.Cylinders[i].After, '*'
				}
				line += scale(s, mark, reach, o) + "  "
			}
			fmt.Fprintln(w, strings.TrimRight(line, " "))
		}
	}
	fmt.Fprintf(w, "%-*s| zero  : limits  o before  * after  [ ] 95 %%\n", labelWidth, "")
}

// scale draws one mean on a line.
func scale(s idletest.Side, mark byte, reach float64, o idletest.Outcome) string {
	line := []byte(strings.Repeat(" ", scaleWidth))
	at := func(x float64) int {
		middle := scaleWidth / 2
		return max(0, min(scaleWidth-1, middle+int(math.Round(x/reach*float64(middle)))))
	}
	line[at(0)] = '|'
	for _, limit := range []float64{o.Fine, o.Limit} {
		if limit > 0 && limit <= reach {
			line[at(limit)], line[at(-limit)] = ':', ':'
		}
	}
	from, to, mean := at(s.Mean-s.Half), at(s.Mean+s.Half), at(s.Mean)
	for i := from; i <= to; i++ {
		line[i] = '-'
	}
	if from < mean {
		line[from] = '['
	}
	if to > mean {
		line[to] = ']'
	}
	line[mean] = mark
	return string(line)
}

// courseText writes how a test went.
func courseText(w io.Writer, r idletest.Reduced, show quantity.Printer) {
	c := r.Course()
	if len(c.At) < 2 {
		return
	}
	title, head := "by minute", "from min"
	if c.By == "degC" {
		title, head = "by coolant temperature", "from °C"
	}
	if r.Measure == idletest.Speed {
		title = "off its mean, " + title
	}
	fmt.Fprintf(w, "\n%s, %s, run %d, %s, in %s\n", r.State, r.Phase, r.Run, title, r.Unit)
	row := func(label string, x []float64, format string) {
		if x == nil {
			return
		}
		line := fmt.Sprintf("  %-10s", label)
		for _, v := range x {
			if math.IsNaN(v) {
				line += fmt.Sprintf("%6s", "-")
				continue
			}
			line += show.Sprintf(format, v)
		}
		fmt.Fprintln(w, line)
	}
	row(head, c.At, "%6.0f")
	for i, x := range c.Cylinders {
		row(show.Sprintf("cylinder %d", i+1), x, "%6.2f")
	}
	row("load %", c.Load, "%6.1f")
	if c.By == "min" {
		row("coolant °C", c.Coolant, "%6.1f")
	}
}

// ReducedText writes one test: its cylinders, how it went, and what is wrong with it.
func ReducedText(w io.Writer, r idletest.Reduced, show quantity.Printer) {
	for _, x := range r.Reasons {
		fmt.Fprintln(w, wrapped("not comparable: "+show.Phrase(x.Say), "  "))
	}
	for _, c := range r.Cylinders {
		name := fmt.Sprintf("cylinder %d", c.Cylinder)
		if r.Measure == idletest.Speed {
			name = "idle speed, off its mean"
		}
		if r.Measure == idletest.Opacity {
			name = "opacity"
		}
		line := show.Sprintf("%s: %.2f %s", name, c.Mean, r.Unit)
		if c.N > 1 {
			line += show.Sprintf(", scatter %.2f, %s", c.SD, Counted(c.N, "sample"))
		}
		fmt.Fprintln(w, "  "+line)
	}
	if len(r.Cylinders) > 0 {
		fmt.Fprint(w, show.Sprintf("  spread: %.2f %s\n", r.RMS, r.Unit))
	}
	for _, x := range r.Warnings {
		fmt.Fprintln(w, wrapped("note: "+show.Phrase(x.Say), "  "))
	}
	courseText(w, r, show)
}
