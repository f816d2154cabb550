package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/whole"
	"daytank/planner/idletest"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
)

// testMinutes is how long a test by hand is.
const testMinutes = 10

// newTestReadCommand makes `daytank test read`.
func newTestReadCommand(a *app) *cobra.Command {
	var o addOptions
	cmd := &cobra.Command{
		Use:   "read JOB",
		Short: "read an idle test live, a line each minute",
		Long: `Asks at each minute mark, for ten minutes, for what the diagnostic display
shows: coolant, speed and the correction of each cylinder, in one line. Every
line is kept before the next is asked; a reading that was left goes on when the
command is given again at once.

Work outdoors or with the exhaust led out, in neutral, brake on, and never alone
with your hands near the engine: somebody reads, somebody types.`,
		Example:           `  daytank test read VAN-07/3 --before --hot`,
		Args:              oneArgument("name a job such as VAN-07/3; daytank jobs lists them"),
		RunE:              func(cmd *cobra.Command, args []string) error { return a.readTest(cmd.Context(), args[0], o) },
		ValidArgsFunction: a.completeJob,
	}
	f := cmd.Flags()
	o.flags(f)
	f.StringVar(&o.log.sign, "sign", "", "`adds|takes`: what a positive correction does to fuel")
	f.StringVar(&o.log.unit, "unit", "", "`UNIT` of the corrections, such as mg/stroke")
	f.StringVar(&o.log.measureName, "measure", "", "`corrections|speed`: what is compared")
	f.BoolVar(&o.fresh, "fresh", false, "begin anew where a reading was left")
	return cmd
}

func (a *app) readTest(ctx context.Context, name string, o addOptions) error {
	if !a.env.StdinIsTerminal() || !a.env.StdoutIsTerminal() {
		return fail(Refused, errors.New("a test is read live at a terminal, beside the engine"), fmt.Sprintf("daytank test add %s LOG takes a log", name))
	}
	t, done, err := a.begin(ctx, name, o)
	if err != nil {
		return err
	}
	defer a.exchange(ctx, patienceAfter)
	defer done()
	test, forget, err := t.typed(ctx, true)
	if err != nil {
		return err
	}
	if err := t.keep(ctx, test); err != nil {
		return err
	}
	return forget()
}

// minute is one line of a test by hand.
type minute struct {
	at     float64 // s since the beginning
	values []string
}

// byHand is a test that is being typed, and the file it is kept in until it is
// whole.
type byHand struct {
	*adding
	live  bool
	names []string // of the values in a line
	file  string
	began time.Time
	rows  []minute
}

// typed asks for a test line by line. Forget removes what was kept on the way, once
// the test stands in the record.
func (t *adding) typed(ctx context.Context, live bool) (idletest.Test, func() error, error) {
	none := func() error { return nil }
	test, err := t.handTest()
	if err != nil {
		return test, none, err
	}
	h := &byHand{adding: t, live: live, names: []string{"coolant", "speed"}}
	if test.Measure == idletest.Corrections {
		for i := range t.job.Engine.Cylinders {
			h.names = append(h.names, fmt.Sprintf("correction %d", i+1))
		}
	}
	if err := h.open(ctx); err != nil {
		return test, none, err
	}
	if err := h.ask(ctx); err != nil {
		return test, none, err
	}
	test.Samples = h.samples()
	return test, func() error { return os.Remove(h.file) }, nil
}

func (t *adding) handTest() (idletest.Test, error) {
	test := idletest.Test{Measure: idletest.Corrections, Unit: idletest.CubicMillimetres, Sign: signWords[t.o.log.sign]}
	if _, _, err := t.o.log.mapping(); err != nil {
		return test, err
	}
	switch t.o.log.unit {
	case "", "mm3/stroke", "mg/stroke", "rpm", "percent":
		if t.o.log.unit != "" {
			test.Unit = idletest.Unit(t.o.log.unit)
		}
	default:
		return test, usage(fmt.Sprintf("--unit %q is not mm3/stroke, mg/stroke, rpm or percent", prompt.Plain(t.o.log.unit)))
	}
	if t.o.log.measureName == "speed" {
		test.Measure, test.Unit = idletest.Speed, idletest.RPM
	}
	return test, nil
}

// open finds what was typed before, or begins.
func (h *byHand) open(ctx context.Context) error {
	s, err := h.app.settings()
	if err != nil {
		return err
	}
	folder, err := h.app.dataFolder(s.Store, "tests")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	kind := "typed"
	if h.live {
		kind = "live"
	}
	h.file = filepath.Join(folder, h.sum.Job.String()+"-"+kind+".txt")
	h.began = h.app.env.Now()
	text, err := os.ReadFile(h.file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return h.begin()
	case err != nil:
		return err
	}
	began, rows, ok := parseMinutes(string(text), len(h.names))
	out := h.app.env.Stdout
	late := h.live && ok && len(rows) > 0 && h.app.env.Now().Sub(began).Seconds()-rows[len(rows)-1].at > 150
	if h.o.fresh || !ok || len(rows) == 0 || late {
		if late {
			fmt.Fprintln(out, "A reading was left too long ago to go on with; its lines stay beside as", filepath.Base(h.file)+".old")
		}
		if err := os.Rename(h.file, h.file+".old"); err != nil {
			return err
		}
		return h.begin()
	}
	h.began, h.rows = began, rows
	fmt.Fprintf(out, "Going on where it was left, after %s; --fresh begins anew.\n", checklist.Clock(int64(rows[len(rows)-1].at*1000)))
	return ctx.Err()
}

// begin makes the file.
func (h *byHand) begin() error {
	return whole.Replace(h.file, []byte("began "+h.began.UTC().Format(time.RFC3339Nano)+"\n"))
}

// add keeps a line on the disk.
func (h *byHand) add(m minute) error {
	f, err := os.OpenFile(h.file, os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(f, "%s %s\n", strconv.FormatFloat(m.at, 'f', 3, 64), strings.Join(m.values, " "))
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	h.rows = append(h.rows, m)
	return nil
}

// parseMinutes reads a file of lines. A last line that breaks off is left out.
func parseMinutes(text string, values int) (began time.Time, rows []minute, ok bool) {
	lines := strings.Split(text, "\n")
	began, err := time.Parse("began "+time.RFC3339Nano, lines[0])
	if err != nil {
		return began, nil, false
	}
	for _, line := range lines[1 : len(lines)-1] {
		cells := strings.Fields(line)
		if len(cells) != values+1 {
			return began, rows, false
		}
		at, err := strconv.ParseFloat(cells[0], 64)
		if err != nil {
			return began, rows, false
		}
		for _, cell := range cells[1:] {
			if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "-" {
				return began, rows, false
			}
		}
		rows = append(rows, minute{at, cells[1:]})
	}
	return began, rows, true
}

// ask asks for the lines that are missing.
func (h *byHand) ask(ctx context.Context) error {
	out := h.app.env.Stdout
	fmt.Fprintln(out, report.Wrap(fmt.Sprintf("In one line: %s. A dash for what is not shown. Enter alone asks again; end ends the test, q leaves it, and what was typed is kept.",
		strings.Join(h.names, ", ")), "", 79))
	if h.live && len(h.rows) == 0 {
		if _, err := h.talk.Read(ctx, "Enter when the engine idles and the first line can be read > ", 0); err != nil {
			return h.left(err)
		}
		h.began = h.app.env.Now()
		if err := h.begin(); err != nil {
			return err
		}
	}
	for len(h.rows) <= testMinutes {
		mark := float64(len(h.rows)) * 60
		if h.live && !h.wait(ctx, mark) {
			return h.left(context.Cause(ctx))
		}
		m, ended, err := h.line(ctx, mark)
		if err != nil {
			return h.left(err)
		}
		if ended {
			break
		}
		if err := h.add(m); err != nil {
			return err
		}
	}
	return nil
}

// wait waits for a mark; false: the context ended.
func (h *byHand) wait(ctx context.Context, mark float64) bool {
	left := time.Duration(mark*float64(time.Second)) - h.app.env.Now().Sub(h.began)
	if left > 0 {
		fmt.Fprintf(h.app.env.Stdout, "next at %s\n", checklist.Clock(int64(mark*1000)))
		h.app.env.Sleep(ctx, left)
	}
	return ctx.Err() == nil
}

// line asks for one line until it can be read.
func (h *byHand) line(ctx context.Context, mark float64) (m minute, ended bool, err error) {
	for {
		bell := ""
		if h.live {
			bell = "\a"
		}
		text, err := h.talk.Read(ctx, fmt.Sprintf("%s%s > ", bell, checklist.Clock(int64(mark*1000))), 0)
		if err != nil {
			return m, false, err
		}
		switch strings.ToLower(text) {
		case "":
			continue
		case "q":
			return m, false, prompt.ErrEnd
		case "end":
			return m, true, nil
		}
		values, problem := h.values(text)
		if problem != "" {
			fmt.Fprintln(h.app.env.Stdout, "  "+problem)
			continue
		}
		at := mark
		if h.live {
			at = h.app.env.Now().Sub(h.began).Seconds()
		}
		return minute{at, values}, false, nil
	}
}

// values reads the numbers of a line.
func (h *byHand) values(text string) ([]string, string) {
	cells := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ';' || r == '\t' })
	if len(cells) != len(h.names) {
		return nil, fmt.Sprintf("%d values, and %d are wanted: %s", len(cells), len(h.names), strings.Join(h.names, ", "))
	}
	for i, cell := range cells {
		if cell == "-" {
			continue
		}
		cell = strings.ReplaceAll(strings.Replace(cell, ",", ".", 1), "\u2212", "-")
		v, err := strconv.ParseFloat(cell, 64)
		low, high := -50.0, 50.0
		switch i {
		case 0:
			low, high = -40, 150
		case 1:
			low, high = 200, 3000
		}
		switch {
		case err != nil || strings.ContainsAny(cell, "xXpPnNiI_"):
			return nil, fmt.Sprintf("%s: %q is no number", h.names[i], prompt.Plain(cells[i]))
		case !(v >= low && v <= high):
			return nil, fmt.Sprintf("%s: %s is outside %g to %g", h.names[i], cell, low, high)
		}
		cells[i] = cell
	}
	return cells, ""
}

// left says that what was typed is kept.
func (h *byHand) left(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, prompt.ErrEnd) || errors.Is(err, context.Canceled) {
		return fail(Stopped, fmt.Errorf("left after %s; they are kept, and the same command goes on", lineCount(len(h.rows))))
	}
	return err
}

func lineCount(n int) string {
	if n == 1 {
		return "1 line"
	}
	return fmt.Sprintf("%d lines", n)
}

// samples makes series of the lines.
func (h *byHand) samples() idletest.Samples {
	var s idletest.Samples
	s.Corrections = make([]idletest.Series, len(h.names)-2)
	for _, m := range h.rows {
		for i, cell := range m.values {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				continue // a dash
			}
			switch i {
			case 0:
				s.Coolant.Add(m.at, v)
			case 1:
				s.Speed.Add(m.at, v)
			default:
				s.Corrections[i-2].Add(m.at, v)
			}
		}
	}
	if len(h.names) == 2 {
		s.Corrections = nil
	}
	return s
}
