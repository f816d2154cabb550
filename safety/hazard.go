package safety

import (
	"embed"
	"fmt"
	"slices"
	"sync"

	"daytank/planner/strict"
)

//go:embed hazards/*.yaml emergency.yaml
var data embed.FS

// Hazard is one way in which the work can hurt.
type Hazard struct {
	ID      string
	Name    string
	What    string // what happens
	Control string // what keeps it away
	IfItDid string // what to do if it happened
	Proof   string // none | word | seen: what the proof of a step with this hazard should rest on
	Source  string
}

var hazards = sync.OnceValues(readHazards)

// Hazards gives all hazards by id. The error is a fault of a shipped file.
func Hazards() ([]Hazard, error) { return hazards() }

// HazardByID gives one hazard.
func HazardByID(id string) (Hazard, bool) {
	all, _ := hazards()
	i := slices.IndexFunc(all, func(h Hazard) bool { return h.ID == id })
	if i < 0 {
		return Hazard{}, false
	}
	return all[i], true
}

func readHazards() ([]Hazard, error) {
	var all []Hazard
	err := strict.EachFile(data, "hazards/*.yaml", func(file string, text []byte) error {
		h, err := ReadHazard(file, text)
		if err == nil && "hazards/"+h.ID+".yaml" != file {
			err = fmt.Errorf("%s: id %q is not the name of the file", file, h.ID)
		}
		all = append(all, h)
		return err
	})
	return all, err
}

// ReadHazard reads a hazard file strictly; the error is [strict.Problems].
func ReadHazard(file string, text []byte) (Hazard, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return Hazard{}, err
	}
	m := doc.Root().Map()
	m.Required("hazard").Integer(1, 1)
	h := Hazard{
		ID:      m.Required("id").Text(),
		Name:    strict.English(m.Required("name")),
		What:    strict.English(m.Required("what")),
		Control: strict.English(m.Required("control")),
		IfItDid: strict.English(m.Required("if_it_did")),
		Proof:   m.Required("proof").OneOf("none", "word", "seen"),
		Source:  m.Required("source").Text(),
	}
	m.Close()
	return h, doc.Err()
}

// Emergency is what is shown when somebody calls one, and the list for leaving
// the work safe.
type Emergency struct {
	First     string // key off
	Cards     []EmergencyCard
	LeaveSafe []string
	Source    string
}

// EmergencyCard is what to do in one kind of emergency.
type EmergencyCard struct {
	ID, Say string
	Do      []string
	Source  string
}

var emergency = sync.OnceValues(func() (Emergency, error) {
	text, err := data.ReadFile("emergency.yaml")
	if err != nil {
		return Emergency{}, err
	}
	return readEmergency("emergency.yaml", text)
})

// EmergencyCards gives the shipped cards. The error is a fault of a shipped
// file.
func EmergencyCards() (Emergency, error) { return emergency() }

func readEmergency(file string, text []byte) (Emergency, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return Emergency{}, err
	}
	m := doc.Root().Map()
	m.Required("emergency").Integer(1, 1)
	e := Emergency{First: strict.English(m.Required("first")), Source: m.Required("source").Text()}
	cards := m.Required("cards")
	for _, v := range cards.List() {
		c := v.Map()
		card := EmergencyCard{ID: c.Required("id").Text(), Say: strict.English(c.Required("say")), Source: c.Required("source").Text()}
		card.Do = readLines(c.Required("do"))
		c.Close()
		e.Cards = append(e.Cards, card)
	}
	wantSome(cards, len(e.Cards), "card")
	e.LeaveSafe = readLines(m.Required("leave_safe"))
	m.Close()
	return e, doc.Err()
}

// readLines reads a list of things to do, at least one.
func readLines(v strict.Value) []string {
	var lines []string
	for _, line := range v.List() {
		lines = append(lines, strict.English(line))
	}
	wantSome(v, len(lines), "line")
	return lines
}

// wantSome refuses a list with nothing in it.
func wantSome(v strict.Value, items int, of string) {
	if v.Present() && !v.IsText() && items == 0 {
		v.Problem("at least one %s is wanted", of)
	}
}
