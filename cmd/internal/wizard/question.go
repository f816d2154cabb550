package wizard

import (
	"slices"
	"strconv"
	"strings"
	"sync"

	"daytank/planner/engine"
	"daytank/planner/quantity"
)

// Kind is the form that an answer is typed in.
type Kind uint8

// Kinds.
const (
	Text   Kind = iota // words, as they are
	Amount             // a number with its unit, or a plain number where the reader wants one
	Choice             // one of the options
	Codes              // words with commas between them; "none" for the empty list
	Hose               // bore and length: 8 mm x 1.5 m
	Stages             // idle 10 min, 1500 rpm 2 min, soak 15 min
	Tanks              // main 41 L of 74 L; reserve 0 L of 31 L
)

// Question is one question of the wizard. It is data: what is asked, where the
// answer stands in the job file, and what may be answered.
type Question struct {
	Path string   // in the job file; it names the question
	Also []string // further paths that the answer is written to
	Page string   // the id of its page
	Ask  string
	Name string // in two or three words, for lists
	Help string // one line
	Kind Kind

	Options func(*engine.Library) []Option // of a Choice
	Usual   *Span                          // sensible range of an Amount; nil: none is known
	Usually string                         // a whole answer that "usual" stands for
	Default func(v View) quantity.Phrase   // what stands in when it is not known; nil: nothing does

	Short     bool // on the short path
	NotKnown  bool // "not known" is an answer; where it is not, the job needs this one
	AtVehicle bool // "will check at the vehicle" is an answer

	// When tells whether the question arises; nil: always.
	When func(v View) bool
	// Beside is what an answer needs beside it while it is judged, because the
	// questions for it come next: PATH=VALUE by the value of the answer.
	Beside map[string]string
}

// Option is one answer of a choice.
type Option struct {
	Word string // typed and shown
	Say  string // what it means
	Sets []Edit // nil: the word is the value at the question's path
}

// Edit is one change of a draft: a text at a path, or the path taken away.
type Edit struct {
	Path, Text string
	Fragment   bool // the text is YAML
	Away       bool
}

// Paths gives everything an answer writes.
func (q Question) Paths() []string { return append([]string{q.Path}, q.Also...) }

// Required tells whether a job cannot be planned without an answer.
func (q Question) Required() bool { return !q.NotKnown && !q.AtVehicle }

// Span is a sensible range, both ends included.
type Span struct {
	low, high float64
	parse     func(text string) (float64, error)
	show      func(p quantity.Printer) string
}

// between is the usual range of a quantity.
func between[T ~float64](parse func(string) (T, error), low, high T) *Span {
	return &Span{
		low: float64(low), high: float64(high),
		parse: func(text string) (float64, error) { x, err := parse(text); return float64(x), err },
		show:  func(p quantity.Printer) string { return p.Any(low) + " to " + p.Any(high) },
	}
}

// number is the usual range of a plain number.
func number(low, high float64) *Span {
	return between(func(text string) (float64, error) { return strconv.ParseFloat(text, 64) }, low, high)
}

// Has tells whether a text is inside the range, or no amount at all: what is no
// amount is for the reader to refuse.
func (s *Span) Has(text string) bool {
	x, err := s.parse(text)
	return err != nil || s.low <= x && x <= s.high
}

// Show writes the range in the user's units.
func (s *Span) Show(p quantity.Printer) string { return s.show(p) }

// Page is a part of the wizard.
type Page struct{ ID, Title, About string }

// PlanPage is the last page.
const PlanPage = "plan"

var pages = []Page{
	{"vehicle", "Vehicle", "Which vehicle, tractor or boat it is."},
	{"engine", "Engine", "How its fuel system is built, and what of it was measured."},
	{"fluid", "Fluid", "The cleaning fluid, from its data sheet and its label."},
	{"rig", "Rig", "The container and the two hoses."},
	{"run", "Run", "How long the engine runs on the fluid."},
	{"site", "Site", "Where it is done, and by how many."},
	{"condition", "Condition", "What was found already; the checklist asks for the rest at the vehicle."},
	{"tank", "Tank dose", "Another product, for the vehicle's own tank. It may be left out."},
	{PlanPage, "Plan", "How much, until when, how hot; and what has to be lifted first."},
}

// Pages gives the pages in their order.
func Pages() []Page { return slices.Clone(pages) }

// pageNamed finds a page by its number, its title or the beginning of one of
// them.
func pageNamed(word string) (Page, bool) {
	word = strings.ToLower(strings.TrimSpace(word))
	if n, err := strconv.Atoi(word); err == nil && n >= 1 && n <= len(pages) {
		return pages[n-1], true
	}
	for _, p := range pages {
		if word != "" && strings.HasPrefix(strings.ToLower(p.Title), word) {
			return p, true
		}
	}
	return Page{}, false
}

// pageOf gives a page by its id.
func pageOf(id string) Page { return pages[pageIndex(id)] }

// pageIndex gives the position of a page; an id that is none is the first.
func pageIndex(id string) int {
	return max(0, slices.IndexFunc(pages, func(p Page) bool { return p.ID == id }))
}

// questions in the order in which they are asked, made when the first is needed:
// most commands ask none.
var questions = sync.OnceValue(func() []Question {
	return slices.Concat(vehicleQuestions(), engineQuestions(), fluidQuestions(), rigQuestions(), runQuestions(),
		siteQuestions(), conditionQuestions(), tankQuestions())
})

// Questions gives all questions in the order in which they are asked.
func Questions() []Question { return slices.Clone(questions()) }

// indexOf gives the position of a question; -1 where there is none.
func indexOf(path string) int {
	return slices.IndexFunc(questions(), func(q Question) bool { return q.Path == path })
}

// words makes options of words that are their own values: "none: no filter".
func words(options ...string) func(*engine.Library) []Option {
	made := make([]Option, len(options))
	for i, o := range options {
		word, say, _ := strings.Cut(o, ": ")
		made[i] = Option{Word: word, Say: say}
	}
	return func(*engine.Library) []Option { return made }
}

// yesNo makes the options of a question that the job file has as true or false.
func yesNo(path, yes, no string) func(*engine.Library) []Option {
	made := []Option{
		{Word: "yes", Say: yes, Sets: []Edit{{Path: path, Text: "true", Fragment: true}}},
		{Word: "no", Say: no, Sets: []Edit{{Path: path, Text: "false", Fragment: true}}},
	}
	return func(*engine.Library) []Option { return made }
}

// planned makes the default of a question: what it is planned with.
func planned(format string, args ...any) func(View) quantity.Phrase {
	return func(View) quantity.Phrase { return quantity.Say(format, args...) }
}
