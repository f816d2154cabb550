// Package idletest compares the idle tests of an engine before and after a clean:
// whether a test is one at all, what its series come down to, and what a difference
// between two of them shows.
//
// A [Test] holds the series of one idle, as a log or a person gave them. [Reduce]
// cuts what is no idle, says what is wrong with it, and gives each cylinder's mean,
// scatter and correlation. [Compare] takes all tests of an engine and gives a
// [Comparison]: one [Outcome] for hot, one for cold, each with its cylinders, the
// spread, reasons and warnings, and a verdict.
//
// Words: a correction is what the control unit adds to or takes from a cylinder to
// keep the idle even; the spread is the root mean square of the cylinders' mean
// corrections; the margin is the change that matters; a run is one of several tests
// in the same phase and state; a remark is a reason or a warning as a value.
//
// Corrections are relative: their sum is about zero whatever the injectors do.
// Mending one moves all the others, and a wear that all share does not show. So no
// cylinder decides alone, and the verdict rests on the spread.
package idletest
