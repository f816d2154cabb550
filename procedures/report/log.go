package report

import (
	"fmt"
	"io"
	"strings"

	"daytank/planner/idletest/logfile"
)

// LogText says every decision of reading a log.
func LogText(w io.Writer, name string, log *logfile.Log) {
	l, s := log.Layout, log.Summary
	head := fmt.Sprintf("header in line %d", l.HeaderLine)
	if l.HeaderLine == 0 {
		head = "no header"
	}
	fmt.Fprintln(w, wrapped(fmt.Sprintf("%s: %s, cells separated by %q, decimal %s, %s, %s", name, Counted(s.Rows, "row"), l.Separator, l.Mark, l.Encoding, head), ""))
	var taken, left []string
	known := map[int]bool{}
	for _, c := range s.Columns {
		known[c.Column] = true
		text := fmt.Sprintf("%q as %s in %s", c.Name, c.As, c.Unit)
		if c.Converted != "" {
			text += " from " + c.Converted
		}
		taken = append(taken, text)
	}
	for _, c := range l.Columns {
		if !known[c.Number] && c.Header != "" {
			left = append(left, fmt.Sprintf("%q", c.Header))
		}
	}
	fmt.Fprintln(w, wrapped("taken: "+strings.Join(taken, "; "), "  "))
	if len(left) > 0 {
		fmt.Fprintln(w, wrapped("not taken: "+strings.Join(left, ", "), "  "))
	}
	for i, c := range s.Channels { // neighbours alike on one line
		if i > 0 && alike(s.Channels[i-1], c) {
			continue
		}
		last := i
		for last+1 < len(s.Channels) && alike(c, s.Channels[last+1]) {
			last++
		}
		names := string(c.As)
		if last > i {
			names += " to " + string(s.Channels[last].As)
		}
		fmt.Fprintln(w, wrapped(fmt.Sprintf("%s: %s, one each %.3g s, longest gap %.3g s", names, Counted(c.Samples, "sample"), c.IntervalS, c.GapS), "  "))
	}
	if s.Collapsed+s.Merged > 0 {
		fmt.Fprintln(w, wrapped(fmt.Sprintf("%s repeated another or its time, %d were put into another of the same time", Counted(s.Collapsed, "row"), s.Merged), "  "))
	}
	for _, r := range s.Rejected {
		where := "lines"
		if r.Column != "" {
			where = fmt.Sprintf("%q", r.Column)
		}
		fmt.Fprintln(w, wrapped(fmt.Sprintf("left out: %s, %d times: %s; first in line %d", where, r.Count, r.Reason, r.FirstLine), "  "))
	}
	for _, n := range s.Notes {
		fmt.Fprintln(w, wrapped("note: "+n, "  "))
	}
}

func alike(a, b logfile.Channel) bool {
	return a.Samples == b.Samples && a.IntervalS == b.IntervalS && a.GapS == b.GapS
}
