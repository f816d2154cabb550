package planner

import (
	"fmt"
	"regexp"
	"strconv"
	"sync"
)

// Compiled when first used: most commands start without it.
var dateForm = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^([0-9]{4})-([0-9]{2})-([0-9]{2})$`) })

// ParseDate reads a day as year-month-day, 2026-03-14 (ISO 8601).
func ParseDate(text string) (Date, error) {
	m := dateForm().FindStringSubmatch(text)
	if m == nil {
		return Date{}, fmt.Errorf("date %q is not written as year-month-day, 2026-03-14", text)
	}
	number := func(s string) int { n, _ := strconv.Atoi(s); return n }
	d := Date{number(m[1]), number(m[2]), number(m[3])}
	if d.Year < 1950 || d.Month < 1 || d.Month > 12 || d.Day < 1 || d.Day > daysIn(d.Year, d.Month) {
		return Date{}, fmt.Errorf("there is no day %s", text)
	}
	return d, nil
}

// String gives the day as 2026-03-14.
func (d Date) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day) }

// Before tells whether d is an earlier day than other.
func (d Date) Before(other Date) bool { return d.days() < other.days() }

// DaysSince gives the days from an earlier day to d; negative for a later one.
func (d Date) DaysSince(earlier Date) int { return d.days() - earlier.days() }

func daysIn(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// days counts the days since a fixed one in the Gregorian calendar, with the
// year taken to begin in March so that the leap day is its last.
func (d Date) days() int {
	y, m := d.Year, d.Month
	if m < 3 {
		y, m = y-1, m+12
	}
	return 365*y + y/4 - y/100 + y/400 + (153*(m-3)+2)/5 + d.Day
}
