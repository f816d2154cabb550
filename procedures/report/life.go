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
	fmt.Fprintf(w, "%s: spread of the corrections (root mean square) over its jobs\n", Plain(l.Asset))
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
			fmt.Fprint(w, show.Sprintf("  %-11s %-7s %11s %6.2f  %s\n", p.Job, p.Phase, LifeAt(l, p.At, p.On, show), p.RMS, bar))
		}
		if s.Limit > 0 {
			fmt.Fprint(w, show.Sprintf("  : limit %g\n", s.Limit))
		}
		fmt.Fprintln(w, wrapped(SlopeWords(l, s, show), "  "))
	}
	if len(l.LeftOut) > 0 {
		fmt.Fprintln(w, "\nleft out")
		for _, x := range l.LeftOut {
			fmt.Fprintln(w, wrapped(x, "  "))
		}
	}
}

// LifeAt writes a place in the life of an engine: how far or long it had run, or on which
// day; on is that day.
func LifeAt(l proof.Life, at float64, on string, show quantity.Printer) string {
	switch l.By {
	case "odometer_km":
		return show.Distance(quantity.Kilometres(at))
	case "engine_h":
		return show.Sprintf("%.0f h", at)
	}
	return on
}

// SlopeWords says where the spread is going.
func SlopeWords(l proof.Life, s proof.Ageing, show quantity.Printer) string {
	if s.Trend.Slope == nil {
		return fmt.Sprintf("%s: a slope takes five, at different places", Counted(len(s.Points), "test"))
	}
	per, unit := 10000.0, "10 000 km"
	switch l.By {
	case "engine_h":
		per, unit = 100, "100 h"
	case "date_days":
		per, unit = 365, "year"
	}
	text := show.Sprintf("slope %+.2f %s per %s", *s.Trend.Slope*per, s.Unit, unit)
	switch {
	case *s.Trend.P >= 0.05:
		return text + ", which may be chance"
	case s.Trend.Reaches == nil:
		return text
	case l.By == "date_days":
		return text + show.Sprintf("; the spread would reach the limit in about %.0f days", *s.Trend.Reaches-s.Points[len(s.Points)-1].At)
	}
	return text + "; the spread would reach the limit at about " + LifeAt(l, *s.Trend.Reaches, "", show)
}
