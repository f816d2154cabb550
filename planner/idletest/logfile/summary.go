package logfile

import (
	"fmt"
	"slices"

	"daytank/planner/idletest"
)

// Log is a log that was read.
type Log struct {
	Layout  Layout           `json:"layout"`
	Samples idletest.Samples `json:"-"`
	Summary Summary          `json:"summary"`
}

// Summary says every decision of a reading.
type Summary struct {
	Columns    []Taken    `json:"columns"`
	Rows       int        `json:"rows"`
	Collapsed  int        `json:"collapsed"`    // rows that repeat another one, or its time
	Merged     int        `json:"merged"`       // rows put into another one of the same time
	OutOfOrder int        `json:"out_of_order"` // rows that were put in order
	BeforeRun  int        `json:"before_start"` // samples of a channel before the engine ran
	Averaged   int        `json:"averaged"`     // neighbouring rows that became one; 1: none
	Channels   []Channel  `json:"channels"`
	Rejected   []Rejected `json:"rejected"`
	Notes      []string   `json:"notes"`
}

// Taken is a column that was taken.
type Taken struct {
	Column    int    `json:"column"`
	Name      string `json:"name"`
	As        Role   `json:"as"`
	Unit      string `json:"unit"`
	Converted string `json:"converted_from"` // another unit; empty: none
}

// Channel is what a channel came to.
type Channel struct {
	As        Role    `json:"as"`
	Samples   int     `json:"samples"`
	IntervalS float64 `json:"interval_s"` // median
	GapS      float64 `json:"longest_gap_s"`
	GapAtS    float64 `json:"longest_gap_at_s"`
}

// Rejected is what was not taken, by reason.
type Rejected struct {
	Column    string `json:"column"` // empty: whole lines
	As        Role   `json:"as"`
	Reason    string `json:"reason"`
	Count     int    `json:"count"`
	FirstLine int    `json:"first_line"`
}

// lane adds what putting in order came to.
func (s *Summary) lane(l *lane) {
	s.Collapsed += l.collapsed
	s.Merged += l.merged
	s.OutOfOrder += l.outOfOrder
	s.Averaged = max(s.Averaged, l.block)
	if l.outOfOrder > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d rows were out of order, the first in line %d, and were put in order", l.outOfOrder, l.firstOut))
	}
	if l.block > 1 {
		s.Notes = append(s.Notes, fmt.Sprintf("there are more rows than a test needs: each %d neighbours were averaged", l.block))
	}
}

// cutStart cuts what is before the engine ran.
func (s *Summary) cutStart(samples *idletest.Samples, start float64) {
	for _, c := range samples.Channels() {
		x := c.Series
		at, _ := slices.BinarySearch(x.T, start)
		s.BeforeRun = max(s.BeforeRun, at)
		x.T, x.V = x.T[at:], x.V[at:]
	}
	s.Notes = append(s.Notes, fmt.Sprintf("%d samples of a channel from before the engine ran were cut", s.BeforeRun))
}

// channels describes the series, in the order of the columns.
func (s *Summary) channels(samples *idletest.Samples, roles [][]Role) {
	known := map[*float64]Channel{} // channels without a missing value share their times
	for _, lane := range roles {
		for _, role := range lane {
			x := *place(samples, role)
			c := Channel{As: role, Samples: x.Len()}
			if x.Len() > 0 {
				times, is := known[&x.T[0]]
				if !is {
					times.IntervalS, times.GapS, times.GapAtS = x.Intervals()
					known[&x.T[0]] = times
				}
				c.IntervalS, c.GapS, c.GapAtS = times.IntervalS, times.GapS, times.GapAtS
			}
			s.Channels = append(s.Channels, c)
		}
	}
}

// empty refuses a log of which nothing is left.
func (l *Log) empty() error {
	for _, c := range l.Summary.Channels {
		if c.Samples > 0 || (c.As.Cylinder() == 0 && len(l.Samples.Corrections) > 0) {
			continue
		}
		for _, r := range l.Summary.Rejected {
			if r.As == c.As {
				return refuse(r.FirstLine, "look at the column, or take another one with --column",
					"no value of %s is left in column %q: %s in %d rows", c.As, r.Column, r.Reason, r.Count)
			}
		}
		return refuse(0, "look at the column, or take another one with --column", "there is no value of %s", c.As)
	}
	return nil
}
