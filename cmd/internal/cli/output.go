package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"unicode"
	"unicode/utf16"

	"daytank/procedures/report"
)

// writeJSON writes a result as indented JSON, text as it is, but for what a terminal would
// obey: that stands as an escape.
func writeJSON(w io.Writer, v any) error {
	var plain bytes.Buffer
	encoder := json.NewEncoder(&plain)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(escaped(plain.Bytes()))
	return err
}

// escaped writes characters that cannot be seen as JSON's escapes; only texts have such.
func escaped(plain []byte) []byte {
	hidden := func(r rune) bool { return r >= unicode.MaxASCII && report.Unseen(r) }
	if !bytes.ContainsFunc(plain, hidden) {
		return plain
	}
	var out []byte
	for _, r := range string(plain) {
		if !hidden(r) {
			out = append(out, string(r)...)
			continue
		}
		for _, unit := range utf16.AppendRune(nil, r) {
			out = fmt.Appendf(out, `\u%04x`, unit)
		}
	}
	return out
}

// output is standard output, which remembers that something could not be written: a command
// whose result is lost has not done its work.
type output struct {
	io.Writer
	err error
}

// Write writes, and remembers the first error.
func (o *output) Write(text []byte) (int, error) {
	n, err := o.Writer.Write(text)
	if o.err == nil {
		o.err = err
	}
	return n, err
}

// judge gives the status of a command that has done its work, if its output was written.
func (o *output) judge(stderr io.Writer) Code {
	if o.err == nil {
		return Done
	}
	fmt.Fprintf(stderr, "%s: the output could not be written: %v\n", program, o.err)
	return Failed
}

// screen gives standard output as it is, for what draws on a terminal.
func (a *app) screen() io.Writer {
	if o, is := a.env.Stdout.(*output); is {
		return o.Writer
	}
	return a.env.Stdout
}
