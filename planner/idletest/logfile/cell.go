package logfile

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"time"
)

// powers of ten that are exact.
var powers = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
}

// cellEnd gives where the cell that begins a line ends, and its text; quotes are
// taken off. It gives false where a quote is not closed.
func cellEnd(line []byte, separator byte) (text []byte, end int, ok bool) {
	i := 0
	for i < len(line) && line[i] == ' ' {
		i++
	}
	if i < len(line) && line[i] == '"' {
		var out []byte
		for j := i + 1; j < len(line); j++ {
			if line[j] != '"' {
				out = append(out, line[j])
				continue
			}
			if j+1 < len(line) && line[j+1] == '"' {
				out = append(out, '"')
				j++
				continue
			}
			rest := bytes.IndexByte(line[j:], separator)
			if rest < 0 {
				return out, len(line), true
			}
			return out, j + rest, true
		}
		return nil, 0, false
	}
	if end = bytes.IndexByte(line, separator); end < 0 {
		end = len(line)
	}
	return bytes.TrimSpace(line[:end]), end, true
}

// cells splits a line for the guess.
func cells(line []byte, separator byte) []string {
	var out []string
	for {
		text, end, ok := cellEnd(line, separator)
		if !ok {
			return append(out, string(bytes.TrimSpace(line)))
		}
		out = append(out, strings.TrimSpace(string(text)))
		if end >= len(line) {
			return out
		}
		line = line[end+1:]
	}
}

// missingWords stand where there is no value, lower case.
var missingWords = map[string]bool{
	"": true, "-": true, "--": true, "---": true, "----": true, "nan": true, "n/a": true, "na": true, "n.a.": true, "#n/a": true, "null": true, "none": true,
	"nil": true, "inf": true, "-inf": true, "+inf": true, "infinity": true, "-infinity": true, "1.#qnan": true, "1.#inf": true, "-1.#ind": true, "1.#ind": true,
	"-1.#inf": true, "-nan": true, "?": true, "invalid": true, "not available": true, "error": true,
}

func isMissing(text string) bool { return missingWords[strings.ToLower(text)] }

// numberIn reads a cell that is not plain; false: no number.
func numberIn(text string, mark byte) (float64, bool) {
	text = strings.ReplaceAll(text, "\u2212", "-")
	if mark == ',' {
		if strings.Contains(text, ".") {
			return 0, false
		}
		text = strings.Replace(text, ",", ".", 1)
	}
	if strings.ContainsAny(text, "xXpP_nNiI") { // hexadecimal, grouped, words
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil && !math.IsInf(x, 0)
}

// otherMark tells whether a cell is a number with the other decimal mark.
func otherMark(text string, mark byte) bool {
	other := byte(',')
	if mark == ',' {
		other = '.'
	}
	if strings.Count(text, string(other)) != 1 {
		return false
	}
	_, ok := numberIn(text, other)
	return ok
}

// Clock is how a time is written.
type Clock string

// Ways to write a time. Those that the guess never takes are for a mapping to name.
const (
	Decimal     Clock = "decimal"   // a number of seconds, or of what the unit says
	MinuteClock Clock = "mm:ss"     // with a decimal mark if wanted
	HourClock   Clock = "hh:mm:ss"  // with a decimal mark if wanted
	Dated       Clock = "iso"       // ISO 8601
	DayFirst    Clock = "day-first" // 14.03.2026 10:05:00
	MonthFirst  Clock = "month-first"
	SplitMillis Clock = "s.ms"  // 12.50 is 12 s and 50 ms
	HourMinute  Clock = "hh:mm" // minutes are the last
)

// Clocks are all of them.
var Clocks = []Clock{Decimal, MinuteClock, HourClock, Dated, DayFirst, MonthFirst, SplitMillis, HourMinute}

// clockOf guesses how a time is written; "" where it is none. Two numbers with a
// colon and no decimals may be minutes and seconds or hours and minutes.
func clockOf(text string) Clock {
	switch parts := strings.Count(text, ":"); {
	case len(text) >= 10 && text[4:5] == "-" && text[7:8] == "-":
		if _, ok := dated(text, Dated); ok {
			return Dated
		}
	case parts == 2 && !strings.ContainsAny(text, " /-"):
		if _, ok := colons(text); ok {
			return HourClock
		}
	case parts == 1:
		if _, ok := colons(text); ok {
			return MinuteClock
		}
	case parts == 2:
		if _, ok := dated(text, DayFirst); ok {
			return DayFirst
		}
		if _, ok := dated(text, MonthFirst); ok {
			return MonthFirst
		}
	}
	return ""
}

// colons reads numbers between colons, each sixty times the next, in the last one's
// unit.
func colons(text string) (float64, bool) {
	total := 0.0
	parts := strings.Split(text, ":")
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if i == len(parts)-1 {
			part = strings.Replace(part, ",", ".", 1)
		} else if strings.ContainsAny(part, ".,") {
			return 0, false
		}
		x, err := strconv.ParseFloat(part, 64)
		if err != nil || strings.ContainsAny(part, "eExXpPnNiI+-_") || (i > 0 && x >= 60) {
			return 0, false
		}
		total = total*60 + x
	}
	return total, true
}

// dated reads a date with a time, in seconds since 1970 as if it were UTC.
func dated(text string, clock Clock) (float64, bool) {
	text = strings.Replace(strings.TrimSpace(text), ",", ".", 1)
	layouts := []string{"2006-01-02T15:04:05Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04:05", "2006-01-02 15:04:05", "20060102T150405Z07:00", "20060102T150405"}
	switch clock {
	case DayFirst:
		layouts = []string{"2.1.2006 15:04:05", "2/1/2006 15:04:05", "2-1-2006 15:04:05", "2.1.06 15:04:05"}
	case MonthFirst:
		layouts = []string{"1/2/2006 15:04:05", "1/2/2006 3:04:05 PM", "1-2-2006 15:04:05"}
	}
	for _, layout := range layouts {
		if at, err := time.Parse(layout, text); err == nil {
			return float64(at.Unix()) + float64(at.Nanosecond())/1e9, true
		}
	}
	return 0, false
}

// splitMillis reads seconds and, behind the mark, whole milliseconds.
func splitMillis(text string) (float64, bool) {
	whole, millis, found := strings.Cut(strings.Replace(text, ",", ".", 1), ".")
	s, err := strconv.ParseUint(whole, 10, 32)
	if err != nil {
		return 0, false
	}
	if !found {
		return float64(s), true
	}
	ms, err := strconv.ParseUint(millis, 10, 16)
	if err != nil || ms > 999 {
		return 0, false
	}
	return float64(s) + float64(ms)/1000, true
}

// clocked reads a time that is no plain number, in seconds.
func clocked(text string, clock Clock) (float64, bool) {
	switch clock {
	case MinuteClock, HourClock:
		return colons(text)
	case HourMinute:
		x, ok := colons(text)
		return x * 60, ok
	case SplitMillis:
		return splitMillis(text)
	}
	return dated(text, clock)
}
