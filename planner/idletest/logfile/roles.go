package logfile

import (
	"fmt"
	"slices"
	"strings"
)

// takeRoles guesses what each column is. Two columns of one name that would both be
// taken are refused: nothing tells which is meant.
func (l *Layout) takeRoles() error {
	taken := map[Role]int{}
	for i := range l.Columns {
		c := &l.Columns[i]
		role := guess(c.Name)
		if role == "" {
			role = guess(c.Header) // a name that ends in what is a unit as well
			if role.Cylinder() > 0 {
				role = "" // the number is that of the unit
			}
		}
		if role == "" || role != Time && c.texts > 0 && c.texts*2 >= len(c.cells) {
			continue
		}
		if role == Time && dateOnly(c.Preview) {
			continue
		}
		if _, err := role.convert(c.Unit); err != nil {
			if role.Cylinder() > 0 && c.Unit != "" {
				return refuse(l.HeaderLine, "correct the unit in the header, or name another column with --column",
					"column %d %q looks like the correction of cylinder %d, but %v", c.Number, c.Header, role.Cylinder(), err)
			}
			if role.Cylinder() == 0 {
				l.Assumed = append(l.Assumed, fmt.Sprintf("column %d %q is not taken: %v", c.Number, c.Header, err))
				continue
			}
		}
		if other, is := taken[role]; is && role != Time {
			if l.Columns[other].Header == c.Header {
				return refuse(l.HeaderLine, fmt.Sprintf("name the right one by its place, such as --column %s=#%d", role, c.Number),
					"columns %d and %d are both called %q", other+1, c.Number, c.Header)
			}
			l.either = append(l.either, ambiguity{role, fmt.Sprintf("columns %d %q and %d %q both look like %s", other+1, l.Columns[other].Header, c.Number, c.Header, role)})
			continue
		}
		taken[role] = i
		c.Role = role
	}
	l.judge(nil)
	return nil
}

// ambiguity is a role that more than one column may have.
type ambiguity struct {
	role Role
	text string
}

// judge lists what is in doubt, but for the roles that are settled.
func (l *Layout) judge(settled map[Role]string) {
	l.Doubts = []string{}
	if l.HeaderLine == 0 && len(settled) == 0 {
		l.Doubts = append(l.Doubts, "there is no header")
	}
	for _, a := range l.either {
		if _, is := settled[a.role]; !is {
			l.Doubts = append(l.Doubts, a.text)
		}
	}
	l.judgeTimes()
	l.judgeCorrections()
}

func dateOnly(preview []string) bool {
	return len(preview) > 0 && strings.Count(preview[0], ":") == 0 && (strings.Count(preview[0], "-") == 2 || strings.Count(preview[0], "/") == 2 || strings.Count(preview[0], ".") == 2)
}

// judgeTimes asks what the time columns are and how they are written.
func (l *Layout) judgeTimes() {
	before, found := -1, false
	for i := range l.Columns {
		c := &l.Columns[i]
		if c.Role != Time {
			continue
		}
		if found && !l.valuesBetween(before, i) {
			l.Doubts = append(l.Doubts, fmt.Sprintf("columns %d %q and %d %q both look like the time", before+1, l.Columns[before].Header, c.Number, c.Header))
		}
		before, found = i, true
		l.judgeClock(c)
	}
	if !found {
		l.Doubts = append(l.Doubts, "no column looks like the time")
	}
}

func (l *Layout) valuesBetween(from, to int) bool {
	return slices.ContainsFunc(l.Columns[from+1:to], func(c Column) bool { return c.Role != "" })
}

// judgeClock guesses how a time is written.
func (l *Layout) judgeClock(c *Column) {
	c.clock = Decimal
	if len(c.Preview) == 0 || numeral(c.Preview[0]) {
		if backwards(c.cells, Decimal, l.mark) && !backwards(c.cells, SplitMillis, l.mark) {
			l.Doubts = append(l.Doubts, fmt.Sprintf("the times of column %d go back as decimals (%s): say --time s.ms if milliseconds stand behind the mark",
				c.Number, strings.Join(c.Preview, ", ")))
		}
		return
	}
	c.clock = clockOf(c.Preview[0])
	switch c.clock {
	case MinuteClock:
		if !strings.ContainsAny(c.Preview[0], ".,") {
			l.Doubts = append(l.Doubts, fmt.Sprintf("the times of column %d (%s) may be minutes and seconds or hours and minutes: say --time mm:ss or --time hh:mm",
				c.Number, strings.Join(c.Preview, ", ")))
		}
	case DayFirst, MonthFirst:
		l.Doubts = append(l.Doubts, fmt.Sprintf("the dates of column %d (%s) may have the day first or the month: say --time day-first or --time month-first",
			c.Number, c.Preview[0]))
	case "":
		l.Doubts = append(l.Doubts, fmt.Sprintf("the times of column %d (%s) are written in no known way", c.Number, strings.Join(c.Preview, ", ")))
	}
}

// backwards tells whether some times fall.
func backwards(preview []string, clock Clock, mark byte) bool {
	last := 0.0
	for i, text := range preview {
		x, ok := numberIn(text, mark)
		if clock != Decimal {
			x, ok = clocked(text, clock)
		}
		if !ok {
			return true
		}
		if i > 0 && x < last {
			return true
		}
		last = x
	}
	return false
}

// judgeCorrections asks whether the corrections are those of cylinders 1 to z, in
// one unit.
func (l *Layout) judgeCorrections() {
	most, count := 0, 0
	unit, mixed := "", false
	for _, c := range l.Columns {
		n := c.Role.Cylinder()
		if n == 0 {
			continue
		}
		if count > 0 && c.Unit != unit {
			mixed = true
		}
		most, count, unit = max(most, n), count+1, c.Unit
	}
	switch {
	case count == 0:
		l.Doubts = append(l.Doubts, "no column looks like a correction")
	case most != count:
		l.Doubts = append(l.Doubts, fmt.Sprintf("%d columns look like corrections, the highest cylinder is %d", count, most))
	case !mixed && unit == "":
		l.Doubts = append(l.Doubts, "the corrections have no unit: say --unit mm3/stroke, mg/stroke, rpm or percent")
	}
}
