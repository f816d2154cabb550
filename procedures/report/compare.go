package report

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"daytank/planner/quantity"
)

// Variant is a plan with one value of the job changed.
type Variant struct {
	Value string
	Plan  Plan
}

// CompareText writes plans side by side, a line each: what is needed and poured
// in, when to stop at the earliest, how soon the container is empty if the return
// slips out, how hot it gets, what the pump pulls, and what stops it.
func CompareText(w io.Writer, path string, variants []Variant, show quantity.Printer) {
	rows := [][]string{{path, "needed", "charge", "stop after", "slips: empty", "peak", "at worst", "suction", ""}}
	for _, v := range variants {
		rows = append(rows, row(v, show))
	}
	widths := widthsOf(rows)
	for _, r := range rows {
		line := r[0] + strings.Repeat(" ", widths[0]-utf8.RuneCountInString(r[0]))
		for i, cell := range r[1 : len(r)-1] {
			line += "  " + strings.Repeat(" ", widths[i+1]-utf8.RuneCountInString(cell)) + cell
		}
		fmt.Fprintln(w, strings.TrimRight(line+"  "+r[len(r)-1], " "))
	}
}

func row(v Variant, show quantity.Printer) []string {
	p := v.Plan
	earliest := "at once"
	if m := p.RunDry.ReserveReached.Earliest; m != nil {
		earliest = show.DurationFine(quantity.Minutes(*m))
	}
	suction := "fed"
	if p.Suction != nil {
		suction = show.Pressure(quantity.Kilopascals(p.Suction.Total))
	}
	var stops []string
	cautions := 0
	for _, f := range p.Findings {
		switch f.Severity {
		case "stop":
			stops = append(stops, f.Rule)
		case "caution":
			cautions++
		}
	}
	verdict := "STOP " + strings.Join(stops, ", ")
	if len(stops) == 0 {
		verdict = "ready, " + Counted(cautions, "caution")
	}
	return []string{
		v.Value, show.Volume(quantity.Millilitres(p.Fluid.NeededML)), show.Volume(quantity.Millilitres(p.Fluid.ChargeML)), earliest,
		show.DurationFine(quantity.Seconds(p.RunDry.ReturnOff.End)),
		show.Temperature(quantity.Celsius(*p.Temperature.PeakC.Expected)), show.Temperature(quantity.Celsius(*p.Temperature.PeakC.High)),
		suction, verdict,
	}
}

// widthsOf gives how wide the cells of each column are, in characters.
func widthsOf(rows [][]string) []int {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	return widths
}
