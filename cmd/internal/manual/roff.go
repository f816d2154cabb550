package main

import (
	"bytes"
	"fmt"
	"strings"
)

// roff is a page in the language of man(7), as far as our pages need it. Text handed
// to it is text: nothing in it acts as a request or an escape. The page is plain
// ASCII whatever the text has.
type roff struct {
	bytes.Buffer
	begun bool // the section has text: what follows may be a paragraph of its own
}

// header begins the page.
func (r *roff) header(name string, of issue) {
	r.WriteString(".\\\" Made from the commands of the program; what is changed here is lost.\n")
	fmt.Fprintf(r, ".TH %s 1 %s %s %s\n", quoted(strings.ToUpper(name)), of.date, quoted("daytank "+of.version), quoted("Commands of daytank"))
	r.WriteString(".nh\n.ad l\n") // words as they are, and the gaps between them
}

func (r *roff) section(title string) {
	fmt.Fprintf(r, ".SH %s\n", quoted(title))
	r.begun = false
}

// line writes one line of text that is filled with the others of its paragraph.
func (r *roff) line(text string) { r.raw(escaped(text)) }

// raw writes a line that has its escapes already.
func (r *roff) raw(line string) {
	if strings.HasPrefix(line, ".") || strings.HasPrefix(line, "'") {
		line = `\&` + line
	}
	r.WriteString(line + "\n")
	r.begun = true
}

func (r *roff) paragraph() {
	if r.begun {
		r.WriteString(".PP\n")
	}
}

// entry is a term with what it means.
func (r *roff) entry(term, meaning string) {
	r.WriteString(".TP\n")
	r.raw(term)
	r.line(meaning)
}

// verbatim writes lines that are not filled.
func (r *roff) verbatim(lines []string) {
	r.paragraph()
	r.WriteString(".nf\n.RS 4\n")
	for _, line := range lines {
		r.line(line)
	}
	r.WriteString(".RE\n.fi\n")
}

// prose writes a text as help shows it: paragraphs with empty lines between them,
// lines that stand as they are and so are indented, and terms with their meaning
// indented below.
func (r *roff) prose(text string) {
	for _, block := range strings.Split(strings.Trim(text, "\n"), "\n\n") {
		lines := strings.Split(strings.Trim(block, "\n"), "\n")
		switch {
		case strings.HasPrefix(lines[0], "  "):
			r.verbatim(outdented(lines))
		case len(lines) > 1 && strings.HasPrefix(lines[1], "  "):
			r.terms(lines)
		default:
			r.paragraph()
			for _, line := range lines {
				r.line(line)
			}
		}
	}
}

// terms writes terms with the lines of their meaning, which stay lines.
func (r *roff) terms(lines []string) {
	explained := false
	for _, line := range lines {
		meaning, ok := strings.CutPrefix(line, "  ")
		switch {
		case !ok:
			r.WriteString(".TP\n")
			r.raw(bold(line))
		case explained:
			r.WriteString(".br\n")
			fallthrough
		default:
			r.line(strings.TrimLeft(meaning, " "))
		}
		explained = ok
	}
}

// outdented takes away the spaces that all lines begin with.
func outdented(lines []string) []string {
	least := -1
	for _, line := range lines {
		if n := len(line) - len(strings.TrimLeft(line, " ")); least < 0 || n < least {
			least = n
		}
	}
	var out []string
	for _, line := range lines {
		out = append(out, line[least:])
	}
	return out
}

func bold(text string) string { return `\fB` + escaped(text) + `\fR` }

func italic(text string) string { return `\fI` + escaped(text) + `\fR` }

// quoted gives an argument of a macro.
func quoted(text string) string { return `"` + escaped(text) + `"` }

// escaped writes text so that it is shown as it is, also where somebody copies a
// command from the screen: groff makes other characters of - ^ ~ ' ` otherwise.
func escaped(text string) string {
	var b strings.Builder
	for _, c := range text {
		switch {
		case special[c] != "":
			b.WriteString(special[c])
		case c > '~':
			fmt.Fprintf(&b, `\[u%04X]`, c)
		default:
			b.WriteRune(c)
		}
	}
	return b.String()
}

var special = map[rune]string{
	'\\': `\e`, '-': `\-`, '\'': `\(aq`, '`': `\(ga`, '^': `\(ha`, '~': `\(ti`, '"': `\(dq`,
}
