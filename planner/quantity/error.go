package quantity

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// Error says why a text is not the quantity that is wanted.
type Error struct {
	Quantity string   // what is wanted, one of [Quantities]
	Text     string   // as given; cut where it is far too long
	Reason   string   // what is wrong with it
	Found    string   // what the text is instead, such as "a pressure"; empty where that is not known
	Accepted []string // the units of Quantity; nil where the unit is not at fault
}

// Error gives, for example,
//
//	volume "2": a unit is missing; accepted: L, mL, ...
//	"25 psi" is a pressure, a volume is wanted; accepted: L, mL, ...
func (e *Error) Error() string {
	message := e.Quantity + " " + strconv.Quote(e.Text) + ": " + e.Reason
	if e.Found != "" {
		message = strconv.Quote(e.Text) + " " + e.Reason
	}
	if len(e.Accepted) > 0 {
		message += "; accepted: " + strings.Join(e.Accepted, ", ")
	}
	return message
}

// problem is an error about the number or the text as a whole.
func (k *kind) problem(text, reason string) *Error {
	return &Error{Quantity: k.name, Text: shortened(text), Reason: reason}
}

// unitProblem is an error about the unit: it names those that are accepted.
func (k *kind) unitProblem(text, reason string) *Error {
	return &Error{Quantity: k.name, Text: text, Reason: reason, Accepted: k.accepted()}
}

// misplaced is the error about a unit that belongs to something else.
func (k *kind) misplaced(text, found, remark string) *Error {
	e := k.unitProblem(text, "is "+found+", "+withArticle(k.name)+" is wanted")
	e.Found = found
	if remark != "" {
		e.Reason += "; " + remark
	}
	return e
}

func withArticle(name string) string {
	if strings.ContainsRune("aeiou", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

// shortened cuts a text that is longer than any quantity, between characters.
func shortened(text string) string {
	if len(text) <= longest {
		return text
	}
	cut := longest
	for cut > 0 && !utf8.RuneStart(text[cut]) {
		cut--
	}
	return text[:cut] + "…"
}
