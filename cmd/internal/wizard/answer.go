package wizard

import (
	"fmt"
	"strings"
	"unicode"

	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// edits gives what an answer changes in the draft, or why it is none. Whether
// its amounts and words are right is for the reader of the job file.
func (q Question) edits(text string, engines *engine.Library) ([]Edit, error) {
	switch q.Kind {
	case Choice:
		return q.choose(text, engines)
	case Codes:
		return listEdits(q.Path, text), nil
	case Hose:
		return q.hoseEdits(text)
	case Stages:
		return stageEdits(q.Path, text)
	case Tanks:
		return tankEdits(q.Path, text)
	}
	return []Edit{{Path: q.Path, Text: text, Fragment: isPlainNumber(text)}}, nil
}

// isPlainNumber tells whether a text stands in a file without quotes as it is.
func isPlainNumber(text string) bool {
	whole, part, marked := strings.Cut(text, ".")
	return isDigits(whole) && (!marked || isDigits(part))
}

func isDigits(text string) bool {
	return text != "" && strings.Trim(text, "0123456789") == ""
}

// choose takes an option by its number or its word.
func (q Question) choose(text string, engines *engine.Library) ([]Edit, error) {
	options := q.Options(engines)
	var names []string
	for i, o := range options {
		if text == fmt.Sprint(i+1) || strings.EqualFold(text, o.Word) {
			if o.Sets != nil {
				return o.Sets, nil
			}
			return []Edit{{Path: q.Path, Text: o.Word}}, nil
		}
		names = append(names, o.Word)
	}
	return nil, fmt.Errorf("%q is not one of %s", text, strings.Join(names, ", "))
}

// listEdits writes words with commas between them as a list.
func listEdits(path, text string) []Edit {
	made := []Edit{{Path: path, Away: true}, {Path: path, Text: "[]", Fragment: true}}
	if strings.EqualFold(text, "none") {
		return made
	}
	for i, word := range splitAt(text, ",;") {
		made = append(made, Edit{Path: fmt.Sprintf("%s.%d", path, i), Text: word})
	}
	return made
}

// splitAt cuts a text at any of the marks, empty parts left out. A comma inside
// a number is a decimal comma and no mark.
func splitAt(text, marks string) []string {
	runes := []rune(text)
	var parts []string
	from := 0
	cut := func(to int) {
		if part := strings.TrimSpace(string(runes[from:to])); part != "" {
			parts = append(parts, part)
		}
		from = to + 1
	}
	for i, r := range runes {
		inside := r == ',' && i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && unicode.IsDigit(runes[i+1])
		if strings.ContainsRune(marks, r) && !inside {
			cut(i)
		}
	}
	if from <= len(runes) {
		cut(len(runes))
	}
	return parts
}

// hoseEdits takes bore and length apart.
func (q Question) hoseEdits(text string) ([]Edit, error) {
	bore, length, found := strings.Cut(strings.ReplaceAll(text, "×", "x"), "x")
	if !found || strings.TrimSpace(bore) == "" || strings.TrimSpace(length) == "" {
		return nil, fmt.Errorf("%q is not written as bore x length, such as 8 mm x 1.5 m", text)
	}
	return []Edit{
		{Path: q.Path, Text: strings.TrimSpace(bore)},
		{Path: q.Also[0], Text: strings.TrimSpace(length)},
	}, nil
}

// stageEdits writes stages such as "idle 10 min, soak until 35 °C".
func stageEdits(path, text string) ([]Edit, error) {
	parts := splitAt(text, ",;")
	if len(parts) == 0 {
		return nil, fmt.Errorf("no stage is given")
	}
	made := mappings(path, len(parts))
	for i, part := range parts {
		at := fmt.Sprintf("%s.%d", path, i)
		stage, err := stageEdit(at, part)
		if err != nil {
			return nil, err
		}
		made = append(made, stage...)
	}
	return made, nil
}

// mappings makes a list of so many mappings, to be filled in.
func mappings(path string, n int) []Edit {
	return []Edit{{Path: path, Away: true}, {Path: path, Text: strings.Repeat("- {}\n", n), Fragment: true}}
}

// stageEdit writes one stage: its last two words are how long.
func stageEdit(at, part string) ([]Edit, error) {
	fields := strings.Fields(part)
	if strings.EqualFold(fields[0], "soak") {
		rest := strings.Join(fields[1:], " ")
		if until, found := strings.CutPrefix(rest, "until "); found {
			return []Edit{{Path: at + ".soak_until", Text: until}}, nil
		}
		if rest != "" {
			return []Edit{{Path: at + ".soak", Text: rest}}, nil
		}
	}
	speed, length := splitTail(fields)
	if speed == "" {
		return nil, fmt.Errorf("%q is not a stage such as: idle 10 min, 1500 rpm 2 min, soak 15 min, soak until 35 °C", part)
	}
	return []Edit{{Path: at + ".speed", Text: speed}, {Path: at + ".for", Text: length}}, nil
}

// splitTail parts the amount at the end, with its unit behind it or against it.
func splitTail(fields []string) (head, tail string) {
	n := len(fields) - 1
	if n > 0 && !beginsWithDigit(fields[n]) {
		n--
	}
	if n <= 0 || !beginsWithDigit(fields[n]) {
		return "", ""
	}
	return strings.Join(fields[:n], " "), strings.Join(fields[n:], " ")
}

func beginsWithDigit(word string) bool {
	return word != "" && (unicode.IsDigit(rune(word[0])) || len(word) > 1 && strings.ContainsRune("+-.,", rune(word[0])) && unicode.IsDigit(rune(word[1])))
}

// tankEdits writes tanks such as "main 41 L of 74 L; reserve 0 L of 31 L".
func tankEdits(path, text string) ([]Edit, error) {
	parts := splitAt(text, ";")
	if len(parts) == 0 {
		return nil, fmt.Errorf("no tank is given")
	}
	made := mappings(path, len(parts))
	for i, part := range parts {
		filled, capacity, found := strings.Cut(part, " of ")
		name, fuel := splitTail(strings.Fields(filled))
		if !found || name == "" {
			return nil, fmt.Errorf("%q is not a tank such as: main 41 L of 74 L", part)
		}
		at := fmt.Sprintf("%s.%d", path, i)
		made = append(made, Edit{Path: at + ".name", Text: name},
			Edit{Path: at + ".capacity", Text: strings.TrimSpace(capacity)},
			Edit{Path: at + ".fuel", Text: fuel})
	}
	return made, nil
}

// standing gives the answer that a document has, as it would be typed; false
// where it has none.
func (q Question) standing(doc *strict.Document, engines *engine.Library) (string, bool) {
	v := valueAt(doc, q.Path)
	switch q.Kind {
	case Choice:
		return q.chosen(doc, engines)
	case Codes:
		return shownList(v)
	case Hose:
		bore, length := textOf(v), textOf(valueAt(doc, q.Also[0]))
		return bore + " x " + length, bore != "" && length != ""
	case Stages:
		return shownStages(v)
	case Tanks:
		return shownTanks(v)
	}
	text := textOf(v)
	return text, text != ""
}

func textOf(v strict.Value) string {
	if v.IsText() {
		return v.Text()
	}
	return ""
}

// chosen gives the option whose values stand in the document.
func (q Question) chosen(doc *strict.Document, engines *engine.Library) (string, bool) {
	for _, o := range q.Options(engines) {
		sets := o.Sets
		if sets == nil {
			sets = []Edit{{Path: q.Path, Text: o.Word}}
		}
		last := sets[len(sets)-1]
		if textOf(valueAt(doc, last.Path)) == last.Text {
			return o.Word, true
		}
	}
	return "", false
}

func shownList(v strict.Value) (string, bool) {
	if !v.IsList() {
		return "", false
	}
	var all []string
	for _, item := range v.List() {
		all = append(all, textOf(item))
	}
	if len(all) == 0 {
		return "none", true
	}
	return strings.Join(all, ", "), true
}

func shownStages(v strict.Value) (string, bool) {
	if !v.IsList() {
		return "", false
	}
	var all []string
	for _, item := range v.List() {
		if item.IsText() || item.IsList() {
			return "", false
		}
		m := item.Map()
		key := func(name string) string { return textOf(m.Optional(name)) }
		switch {
		case key("soak_until") != "":
			all = append(all, "soak until "+key("soak_until"))
		case key("soak") != "":
			all = append(all, "soak "+key("soak"))
		default:
			all = append(all, key("speed")+" "+key("for"))
		}
	}
	return strings.Join(all, ", "), len(all) > 0
}

func shownTanks(v strict.Value) (string, bool) {
	if !v.IsList() {
		return "", false
	}
	var all []string
	for _, item := range v.List() {
		if item.IsText() || item.IsList() {
			return "", false
		}
		m := item.Map()
		key := func(name string) string { return textOf(m.Optional(name)) }
		all = append(all, fmt.Sprintf("%s %s of %s", key("name"), key("fuel"), key("capacity")))
	}
	return strings.Join(all, "; "), len(all) > 0
}

// usualWord stands for an answer that most give.
const usualWord = "usual"

// spelled gives an answer with what "usual" stands for.
func (q Question) spelled(text string) string {
	text = strings.TrimSpace(text)
	if q.Usually != "" && strings.EqualFold(text, usualWord) {
		return q.Usually
	}
	return text
}

// Facts gives what else there is to know of a question, a line each: how it is
// answered, and what stands in where nobody knows.
func (q Question) Facts(v View, show quantity.Printer) []string {
	var lines []string
	if q.Usual != nil {
		lines = append(lines, "usual: "+q.Usual.Show(show))
	}
	if q.Usually != "" {
		lines = append(lines, "usual: "+q.Usually)
	}
	if q.NotKnown && q.Default != nil {
		lines = append(lines, "not known: "+show.Phrase(q.Default(v)))
	}
	return lines
}
