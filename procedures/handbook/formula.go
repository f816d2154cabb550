package handbook

import (
	"embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"daytank/planner/quantity"
	"daytank/planner/strict"
)

//go:embed formulas/*.yaml
var data embed.FS

// Formula is one piece of the arithmetic, as it is computed.
type Formula struct {
	ID, Title string
	For       quantity.Phrase   // what it is used for
	Lines     []quantity.Phrase // in plain text, one equation each
	Symbols   []Symbol
	Given     quantity.Phrase // of the example: what goes in
	Gives     quantity.Phrase // and what comes out
	Source    string
}

// Symbol is a quantity of a formula.
type Symbol struct {
	Name string
	Unit string // that the formula wants; empty for a plain number
	Is   quantity.Phrase
	Key  string          // of the job file; empty where it is computed or fixed
	From quantity.Phrase // where else it comes from: a default, another formula
}

// in says a symbol in a line.
func (s Symbol) in(show quantity.Printer) string {
	text := s.Name
	if s.Unit != "" {
		text += " in " + s.Unit
	}
	text += ": " + show.Phrase(s.Is)
	var from []string
	if s.Key != "" {
		from = append(from, s.Key+" of the job")
	}
	if s.From.Format != "" {
		from = append(from, show.Phrase(s.From))
	}
	if len(from) > 0 {
		text += " (" + strings.Join(from, "; ") + ")"
	}
	return text
}

var formulas = sync.OnceValues(func() ([]Formula, error) {
	var all []Formula
	err := strict.EachFile(data, "formulas/*.yaml", func(file string, text []byte) error {
		f, err := ReadFormula(file, text)
		if err == nil && "formulas/"+f.ID+".yaml" != file {
			err = fmt.Errorf("%s: id %q is not the name of the file", file, f.ID)
		}
		all = append(all, f)
		return err
	})
	return all, err
})

// Formulas gives all formulas by id. The error is a fault of a shipped file.
func Formulas() ([]Formula, error) { return formulas() }

// FormulaByID gives one formula, if there is one of that id.
func FormulaByID(id string) (Formula, bool, error) {
	all, err := formulas()
	i := slices.IndexFunc(all, func(f Formula) bool { return f.ID == id })
	if i < 0 {
		return Formula{}, false, err
	}
	return all[i], true, err
}

// ReadFormula reads a formula file strictly; the error is [strict.Problems].
// Amounts that are to be shown in the reader's units stand in braces, {8 mm}.
func ReadFormula(file string, text []byte) (Formula, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return Formula{}, err
	}
	m := doc.Root().Map()
	m.Required("formula").Integer(1, 1)
	f := Formula{
		ID:     m.Required("id").Text(),
		Title:  strict.English(m.Required("title")),
		For:    readPhrase(m.Required("for")),
		Lines:  readList(m.Required("lines"), readPhrase),
		Source: m.Required("source").Text(),
	}
	f.Symbols = readList(m.Required("symbols"), readSymbol)
	example := m.Required("example").Map()
	f.Given, f.Gives = readPhrase(example.Required("given")), readPhrase(example.Required("gives"))
	example.Close()
	m.Close()
	return f, doc.Err()
}

// readList reads a list of at least one item.
func readList[T any](v strict.Value, read func(strict.Value) T) []T {
	var all []T
	for _, item := range v.List() {
		all = append(all, read(item))
	}
	if v.IsList() && len(all) == 0 {
		v.Problem("at least one is wanted")
	}
	return all
}

func readSymbol(v strict.Value) Symbol {
	m := v.Map()
	s := Symbol{Name: m.Required("symbol").Text(), Unit: m.Optional("unit").Text(), Is: readPhrase(m.Required("is")), Key: m.Optional("job").Text()}
	if from := m.Optional("from"); from.Present() {
		s.From = readPhrase(from)
	}
	m.Close()
	return s
}
