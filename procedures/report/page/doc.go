// Package page renders what people keep: the report of a job, the customer's copy of it,
// the sheet of a plan for a bay without a laptop, and the index over many reports.
//
// Each is one file of HTML that needs nothing else: no network, no script that it cannot do
// without, its style and pictures inside. It is light or dark as the reader's machine is,
// prints on A4 and Letter, and says every number of a picture in a table as well. The
// numbers are those of package report; here nothing is computed but where they stand in a
// picture.
//
// Whatever a person has typed is escaped by html/template, and shown on one line without
// control characters. The same model gives the same bytes.
package page
