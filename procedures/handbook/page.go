// Package handbook has a page for each rule, hazard, layout and formula: what
// it says, why, and where it comes from. Pages are made from the data that the
// program itself works with, so that they say what it does: the limits of a
// rule are the constants of its check, a layout's figures those it plans with.
//
// A page is a title and parts, each a label with a text or a list; it is shown
// by `daytank library show`, and stands in the appendix of a report. Amounts in
// it are in the units and with the decimal mark of a [quantity.Printer].
//
// Formulas are files in formulas, `formula: 1`, read strictly by [ReadFormula].
package handbook

import (
	"fmt"
	"strings"

	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/safety"
)

// Kinds of pages.
const (
	RuleKind    = "rule"
	HazardKind  = "hazard"
	LayoutKind  = "layout"
	FormulaKind = "formula"
)

// Page is what is said of one thing.
type Page struct {
	Kind  string `json:"kind"`
	ID    string `json:"id"`
	Title string `json:"title"`
	Parts []Part `json:"parts"`
}

// Part is a text or a list under a label.
type Part struct {
	Label string   `json:"label"`
	Text  string   `json:"text,omitempty"`
	List  []string `json:"list,omitempty"`
}

// restsOn labels the source on every page.
const restsOn = "it rests on"

// text adds a part, unless there is nothing to say.
func (p *Page) text(label, text string) {
	if text != "" {
		p.Parts = append(p.Parts, Part{Label: label, Text: text})
	}
}

// list adds a list; one of a single item is a text.
func (p *Page) list(label string, items []string) {
	switch len(items) {
	case 0:
	case 1:
		p.text(label, items[0])
	default:
		p.Parts = append(p.Parts, Part{Label: label, List: items})
	}
}

// OfRule gives the page of a rule.
func OfRule(r safety.Rule, show quantity.Printer) Page {
	p := Page{Kind: RuleKind, ID: r.ID, Title: r.Title}
	for _, severity := range []safety.Severity{safety.Stop, safety.Caution, safety.Note} {
		var cases []string
		for _, w := range r.When {
			if w.Severity == severity {
				cases = append(cases, show.Phrase(w.Say))
			}
		}
		p.list("a "+severity.String()+" when", cases)
	}
	p.text("why it matters", r.Why)
	p.text("what lifts it", r.Lifts)
	p.text("formulas", strings.Join(r.Formulas, ", "))
	p.text(restsOn, r.Source)
	return p
}

// OfHazard gives the page of a hazard.
func OfHazard(h safety.Hazard) Page {
	p := Page{Kind: HazardKind, ID: h.ID, Title: h.Name}
	p.text("what happens", h.What)
	p.text("what keeps it away", h.Control)
	p.text("if it happened", h.IfItDid)
	p.text(restsOn, h.Source)
	return p
}

// OfLayout gives the page of a layout of fuel systems.
func OfLayout(x engine.Layout, show quantity.Printer) Page {
	p := Page{Kind: LayoutKind, ID: x.ID, Title: x.Title}
	band := func(low, expected, high any) string {
		return fmt.Sprintf("%s expected, %s to %s", show.Any(expected), show.Any(low), show.Any(high))
	}
	p.text("return flow at idle", band(x.ReturnFlow.Low, x.ReturnFlow.Expected, x.ReturnFlow.High))
	p.text("heat of the return at idle", band(x.ReturnHeat.Low, x.ReturnHeat.Expected, x.ReturnHeat.High))
	p.text("line and filter", show.Volume(x.LineVolume)+" and "+show.Volume(x.FilterVolume))
	p.text("hottest return", show.Temperature(x.ReturnTemperatureMax))
	p.text("suction at the pump, at most", show.Pressure(x.InletDepressionLimit))
	restricted := "; no tap and no filter in it"
	if x.ReturnRestrictable {
		restricted = ""
	}
	p.text("return pushed against, at most", show.Pressure(x.ReturnHeadLimit)+restricted)
	p.text(restsOn, x.Source)
	for _, key := range engine.Words() {
		if t, ok := x.Words[key]; ok {
			p.text(strings.ReplaceAll(key, "_", " "), t.Say+" ("+t.Source+")")
		}
	}
	for _, c := range x.Cautions {
		p.text("CAUTION", c.Say+" ("+c.Source+")")
	}
	return p
}

// OfFormula gives the page of a formula.
func OfFormula(f Formula, show quantity.Printer) Page {
	p := Page{Kind: FormulaKind, ID: f.ID, Title: f.Title}
	p.text("what it is for", show.Phrase(f.For))
	lines := make([]string, len(f.Lines))
	for i, line := range f.Lines {
		lines[i] = show.Phrase(line)
	}
	p.list("formula", lines)
	symbols := make([]string, len(f.Symbols))
	for i, s := range f.Symbols {
		symbols[i] = s.in(show)
	}
	p.list("where", symbols)
	p.text("example", show.Phrase(f.Given)+" "+show.Phrase(f.Gives))
	p.text(restsOn, f.Source)
	return p
}

// Of gives every page that is called by an id: a layout and a rule might have
// the same. The error is a fault of a shipped file.
func Of(id string, layouts *engine.Library, show quantity.Printer) ([]Page, error) {
	var pages []Page
	if x, ok := layouts.Layout(id); ok {
		pages = append(pages, OfLayout(x, show))
	}
	if r, ok := safety.RuleByID(id); ok {
		pages = append(pages, OfRule(r, show))
	}
	if h, ok := safety.HazardByID(id); ok {
		pages = append(pages, OfHazard(h))
	}
	f, ok, err := FormulaByID(id)
	if ok {
		pages = append(pages, OfFormula(f, show))
	}
	return pages, err
}
