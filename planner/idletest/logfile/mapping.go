package logfile

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Mapping says what the guess could not know, or got wrong. The zero value takes the
// guess.
type Mapping struct {
	Columns  map[Role]string // by the header's text or, with #, by place from 1; "none": not recorded
	Unit     string          // of the corrections
	Clock    Clock           // how the times are written
	SameTime string          // what to do with several values at one time: "" refuse, "mean" average
}

// Key gives what a mapping is remembered by: the same header gives the same key.
func (l Layout) Key() string {
	sum := sha256.Sum256([]byte(l.Separator + "\n" + l.Mark + "\n" + l.headerText()))
	return hex.EncodeToString(sum[:8])
}

func (l Layout) headerText() string {
	var names []string
	for _, c := range l.Columns {
		names = append(names, c.Header+"|"+c.Unit)
	}
	return strings.Join(names, "\n")
}

// find gives the column that a mapping names.
func (l Layout) find(role Role, wanted string) (int, error) {
	if place, is := strings.CutPrefix(wanted, "#"); is {
		n, err := strconv.Atoi(place)
		if err != nil || n < 1 || n > len(l.Columns) {
			return 0, refuse(0, "columns are counted from #1", "%s: there is no column %s of %d", role, wanted, len(l.Columns))
		}
		return n - 1, nil
	}
	found := -1
	for i, c := range l.Columns {
		if !strings.EqualFold(strings.TrimSpace(c.Header), strings.TrimSpace(wanted)) && !strings.EqualFold(c.Name, strings.TrimSpace(wanted)) {
			continue
		}
		if found >= 0 {
			return 0, refuse(l.HeaderLine, fmt.Sprintf("name it by its place, such as --column %s=#%d", role, i+1),
				"columns %d and %d are both called %q", found+1, i+1, wanted)
		}
		found = i
	}
	if found < 0 {
		var names []string
		for _, c := range l.Columns {
			names = append(names, strconv.Quote(c.Header))
		}
		return 0, refuse(l.HeaderLine, "the columns are "+strings.Join(names, ", "), "%s: no column is called %q", role, wanted)
	}
	return found, nil
}

// With gives the layout with a mapping on it: what it names is taken as it says, and
// what it settles is no doubt any more.
func (l Layout) With(m Mapping) (Layout, error) {
	l.Columns = slices.Clone(l.Columns)
	for _, role := range slices.Sorted(maps.Keys(m.Columns)) {
		if !role.Known() {
			return l, refuse(0, "the roles are time, speed, load, coolant, quantity, rail-pressure, fuel-temperature and correction.1 to correction.16", "%q is no role of a column", role)
		}
		for i := range l.Columns {
			if l.Columns[i].Role == role {
				l.Columns[i].Role = ""
			}
		}
		if m.Columns[role] == "none" {
			continue
		}
		i, err := l.find(role, m.Columns[role])
		if err != nil {
			return l, err
		}
		l.Columns[i].Role = role
	}
	if m.Unit != "" && unitNamed(m.Unit) == "" {
		return l, refuse(0, "mm3/stroke, mg/stroke, rpm or percent", "%q is no unit of a correction", m.Unit)
	}
	for i := range l.Columns {
		c := &l.Columns[i]
		if m.Unit != "" && c.Role.Cylinder() > 0 {
			c.Unit = unitNamed(m.Unit)
		}
	}
	l.judge(m.Columns)
	if m.Clock != "" {
		if !slices.Contains(Clocks, m.Clock) {
			return l, refuse(0, fmt.Sprintf("ways to write a time are %v", Clocks), "%q is no way to write a time", m.Clock)
		}
		for i := range l.Columns {
			if l.Columns[i].Role == Time {
				l.Columns[i].clock = m.Clock
			}
		}
		l.Doubts = slices.DeleteFunc(l.Doubts, func(d string) bool { return strings.Contains(d, "--time ") })
	}
	if _, none := m.Columns[Correction(1)]; none && m.Columns[Correction(1)] == "none" {
		l.Doubts = slices.DeleteFunc(l.Doubts, func(d string) bool { return strings.Contains(d, "looks like a correction") })
	}
	return l, l.checkUnits()
}

// checkUnits refuses what cannot be converted, and corrections in several units.
func (l Layout) checkUnits() error {
	first := -1
	for i, c := range l.Columns {
		if c.Role == "" {
			continue
		}
		if _, err := c.Role.convert(c.Unit); err != nil && !(c.Role.Cylinder() > 0 && c.Unit == "") {
			return refuse(l.HeaderLine, "correct the unit in the header, or take another column", "column %d %q: %v", c.Number, c.Header, err)
		}
		if c.Role.Cylinder() == 0 {
			continue
		}
		if first >= 0 && l.Columns[first].Unit != c.Unit {
			return refuse(max(l.HeaderLine, l.UnitLine), "all corrections have one unit; say --unit if the header is wrong",
				"column %d %q is in %q and column %d %q in %q", first+1, l.Columns[first].Header, l.Columns[first].Unit, c.Number, c.Header, c.Unit)
		}
		first = i
	}
	return nil
}
