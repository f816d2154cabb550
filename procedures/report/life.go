package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"daytank/planner/quantity"
	"daytank/procedures/proof"
)

// barWidth is the length of the longest bar of a trend.
const barWidth = 28

// LifeText writes how an engine's spread went over all its jobs.
func LifeText(w io.Writer, l proof.Life, show quantity.Printer) {
	at := func(x float64, on string) string {
		switch l.By {
		case "odometer_km":
			return show.Distance(quantity.Kilometres(x))
		case "engine_h":
			return fmt.Sprintf("%.0f h", x)
		}
		return on
	}
	fmt.Fprintf(w, "%s: spread of the corrections (root mean square) over its jobs\n", l.Asset)
	for _, s := range l.States {
		fmt.Fprintf(w, "\n%s, in %s\n", s.State, s.Unit)
		most := s.Limit
		for _, p := range s.Points {
			most = max(most, p.RMS)
		}
		for _, p := range s.Points {
			bar := strings.Repeat("#", int(math.Round(p.RMS/most*barWidth)))
			if s.Limit > 0 {
				if k := int(math.Round(s.Limit / most * barWidth)); k > len(bar) {
					bar += strings.Repeat(" ", k-len(bar)-1) + ":"
				}
			}
			fmt.Fprintf(w, "  %-11s %-7s %11s %6.2f  %s\n", p.Job, p.Phase, at(p.At, p.On), p.RMS, bar)
		}
		if s.Limit > 0 {
			fmt.Fprintf(w, "  : limit %g\n", s.Limit)
		}
		fmt.Fprintln(w, wrapped(slopeWords(l, s, at), "  "))
	}
	if len(l.LeftOut) > 0 {
		fmt.Fprintln(w, "\nleft out")
		for _, x := range l.LeftOut {
			fmt.Fprintln(w, wrapped(x, "  "))
		}
	}
}

// slopeWords says where the spread is going.
func slopeWords(l proof.Life, s proof.Ageing, at func(float64, string) string) string {
	if s.Trend.Slope == nil {
		return fmt.Sprintf("%s: a slope takes five, at different places", counted(len(s.Points), "test"))
	}
	per, unit := 10000.0, "10 000 km"
	switch l.By {
	case "engine_h":
		per, unit = 100, "100 h"
	case "date_days":
		per, unit = 365, "year"
	}
	text := fmt.Sprintf("slope %+.2f %s per %s", *s.Trend.Slope*per, s.Unit, unit)
	switch {
	case *s.Trend.P >= 0.05:
		return text + ", which may be chance"
	case s.Trend.Reaches == nil:
		return text
	case l.By == "date_days":
		return text + fmt.Sprintf("; the spread would reach the limit in about %.0f days", *s.Trend.Reaches-s.Points[len(s.Points)-1].At)
	}
	return text + "; the spread would reach the limit at about " + at(*s.Trend.Reaches, "")
}
