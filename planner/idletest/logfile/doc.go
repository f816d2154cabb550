// Package logfile reads the idle tests that other people's loggers write: text in
// rows and columns, of many habits.
//
// [Open] looks at the beginning of a log and guesses its [Layout]: encoding,
// separator, decimal mark, which line is the header, which column is what, in which
// unit. Where the guess is not certain the layout says why in its doubts, and a
// [Mapping] settles them. [Reader.Read] then streams the rows and gives the samples
// with a [Summary] of every decision.
//
// Words: a role is what a column is taken as; a lane is a time column with the
// columns that go by it; a cell is missing where it is empty, says so (NaN, N/A,
// ---) or lies outside what its role can be; a sample is a value that was kept.
//
// Nothing is guessed silently, nothing is shifted: a row with too few cells, a
// channel with two values at one time, mixed decimal marks, a correction in another
// unit than the rest end the reading with an [Error] that names the line and a way
// forward.
//
// Memory is bounded whatever the length of the log: beyond 16,000 rows
// neighbouring rows are averaged, and the summary says over how many.
package logfile
