// Package demo has the scenario of the demonstration: the van of an invented
// harbour, the person who works at it, and a clock that is set by hand.
package demo

import (
	_ "embed"
	"time"
)

// Van is the job file of the demonstration.
//
//go:embed van.yaml
var Van []byte

// VanFile is the name that problems of it would carry.
const VanFile = "van.yaml"

// Operator is the invented person who does the work.
const Operator = "Tobi Fenn"

// Clock is a clock that a demonstration sets itself.
type Clock struct {
	now  time.Time
	mono time.Duration
}

// NewClock gives a clock that stands at a moment.
func NewClock(at time.Time) *Clock { return &Clock{now: at} }

// Advance lets time pass.
func (c *Clock) Advance(d time.Duration) {
	c.now = c.now.Add(d)
	c.mono += d
}

// Now gives the time of day.
func (c *Clock) Now() time.Time { return c.now }

// Mono gives the time since the start.
func (c *Clock) Mono() time.Duration { return c.mono }
