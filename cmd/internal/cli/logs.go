package cli

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/whole"
	"daytank/planner/idletest"
	"daytank/planner/idletest/logfile"
	"daytank/planner/quantity"
	"daytank/planner/strict"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/report"
)

// logOptions are the flags about reading logs.
type logOptions struct {
	columns                    []string
	mapFile                    string
	unit, clock, sameTime      string
	density, sign, measureName string
}

func (o *logOptions) flags(f *pflag.FlagSet) {
	f.StringArrayVar(&o.columns, "column", nil, "take a column `ROLE=NAME`, such as coolant=#4; may be repeated")
	f.StringVar(&o.mapFile, "map", "", "`FILE` that says which column is what")
	f.StringVar(&o.unit, "unit", "", "`UNIT` of the corrections, such as mg/stroke")
	f.StringVar(&o.clock, "time", "", "`FORM` of the times: mm:ss, hh:mm, day-first, s.ms ...")
	f.StringVar(&o.sameTime, "same-time", "", "`mean`: average several values at one time")
	f.StringVar(&o.density, "density", "", "`DENSITY` of the fuel, to take mg as mm3")
	f.StringVar(&o.sign, "sign", "", "`adds|takes`: what a positive correction does to fuel")
	f.StringVar(&o.measureName, "measure", "", "`corrections|speed`: what is compared")
}

// signWords are what a positive correction means.
var signWords = map[string]string{"": "", "adds": "adds fuel", "takes": "takes fuel away"}

// mapping puts together what the flags and the map file say. False: nothing.
func (o logOptions) mapping() (logfile.Mapping, bool, error) {
	m := logfile.Mapping{Columns: map[logfile.Role]string{}}
	if o.mapFile != "" {
		var err error
		if m, err = readMap(o.mapFile); err != nil {
			return m, false, err
		}
	}
	for _, c := range o.columns {
		role, name, ok := strings.Cut(c, "=")
		if !ok || strings.TrimSpace(name) == "" {
			return m, false, usage(fmt.Sprintf("--column %q is not ROLE=NAME", prompt.Plain(c)), "such as --column correction.1=\"inj 1\" or --column coolant=#4")
		}
		m.Columns[logfile.Role(strings.TrimSpace(role))] = strings.TrimSpace(name)
	}
	if o.unit != "" {
		m.Unit = o.unit
	}
	if o.clock != "" {
		m.Clock = logfile.Clock(o.clock)
	}
	if o.sameTime != "" {
		if o.sameTime != "mean" {
			return m, false, usage(fmt.Sprintf("--same-time %q is not mean", prompt.Plain(o.sameTime)))
		}
		m.SameTime = o.sameTime
	}
	if _, ok := signWords[o.sign]; !ok {
		return m, false, usage(fmt.Sprintf("--sign %q is neither adds nor takes", prompt.Plain(o.sign)))
	}
	if o.measureName != "" && !slices.Contains([]string{"corrections", "speed"}, o.measureName) {
		return m, false, usage(fmt.Sprintf("--measure %q is neither corrections nor speed", prompt.Plain(o.measureName)))
	}
	if o.measureName == "speed" {
		m.Columns[logfile.Correction(1)] = "none"
	}
	said := len(m.Columns) > 0 || m.Unit != "" || m.Clock != "" || m.SameTime != ""
	return m, said, nil
}

// readMap reads a file that says which column is what:
//
//	log: 1
//	columns: {time: Zeit, correction.1: "inj 1", coolant: "#4"}
//	unit: mm3/stroke
//	time: mm:ss
//	same_time: mean
func readMap(file string) (logfile.Mapping, error) {
	m := logfile.Mapping{Columns: map[logfile.Role]string{}}
	text, err := readFile(file)
	if err != nil {
		return m, err
	}
	doc, err := strict.Parse(file, text)
	if err != nil {
		return m, err
	}
	root := doc.Root().Map()
	root.Required("log").Integer(1, 1)
	if v := root.Optional("columns"); v.Present() {
		columns := v.Map()
		for _, key := range columns.Keys() {
			value := columns.Required(key)
			if !logfile.Role(key).Known() {
				value.Problem("%q is no role of a column: time, speed, load, coolant, quantity, rail-pressure, fuel-temperature, correction.1 to correction.%d", key, logfile.MostCylinders)
			}
			m.Columns[logfile.Role(key)] = value.Line()
		}
		columns.Close()
	}
	if v := root.Optional("unit"); v.Present() {
		m.Unit = v.OneOf("mm3/stroke", "mg/stroke", "rpm", "percent")
	}
	if v := root.Optional("time"); v.Present() {
		var words []string
		for _, c := range logfile.Clocks {
			words = append(words, string(c))
		}
		m.Clock = logfile.Clock(v.OneOf(words...))
	}
	if v := root.Optional("same_time"); v.Present() {
		m.SameTime = v.OneOf("mean")
	}
	root.Close()
	return m, doc.Err()
}

// mapText writes a mapping as readMap reads it.
func mapText(m logfile.Mapping) []byte {
	var b strings.Builder
	b.WriteString("log: 1\n")
	if len(m.Columns) > 0 {
		b.WriteString("columns:\n")
		for _, role := range slices.Sorted(maps.Keys(m.Columns)) {
			fmt.Fprintf(&b, "  %s: %s\n", role, strconv.Quote(m.Columns[role]))
		}
	}
	for _, line := range [][2]string{{"unit", m.Unit}, {"time", string(m.Clock)}, {"same_time", m.SameTime}} {
		if line[1] != "" {
			fmt.Fprintf(&b, "%s: %q\n", line[0], line[1])
		}
	}
	return []byte(b.String())
}

// remembered gives the file that the mapping of a header is kept in.
func (a *app) remembered(layout logfile.Layout) (string, error) {
	s, err := a.settings()
	if err != nil {
		return "", err
	}
	folder, err := a.dataFolder(s.Store, "logs")
	return filepath.Join(folder, layout.Key()+".yaml"), err
}

// remember keeps a mapping for the next log with this header. Not being able to is
// no reason to stop.
func (a *app) remember(layout logfile.Layout, m logfile.Mapping) {
	file, err := a.remembered(layout)
	if err == nil {
		if err = os.MkdirAll(filepath.Dir(file), 0o700); err == nil {
			err = whole.Replace(file, mapText(m))
		}
	}
	if err != nil {
		fmt.Fprintf(a.env.Stderr, "%s: which column is what could not be kept for the next time: %v\n", program, err)
	}
}

// readLog is a log that was read.
type readLog struct {
	log    *logfile.Log
	source proof.Source
}

// openLog opens a log. What can be read from but once may be a pipe.
func openLog(name string) (*os.File, error) {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, usage(name + ": there is no such file")
	case err != nil:
		return nil, fail(Usage, err)
	case info.IsDir():
		return nil, usage(name+": this is a folder", "name a log in it")
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, fail(Usage, err)
	}
	return file, nil
}

// readLog reads a log, asks at a terminal what is not certain, and says every
// decision on stderr. Waiting for a pipe that nobody writes to can be broken off.
func (a *app) readLog(ctx context.Context, name string, o logOptions, talk conversation) (readLog, error) {
	type result struct {
		read readLog
		err  error
	}
	done := make(chan result, 1)
	go func() {
		read, err := a.readLogNow(ctx, name, o, talk)
		done <- result{read, err}
	}()
	select {
	case r := <-done:
		if r.err != nil {
			return r.read, r.err
		}
		report.LogText(a.env.Stderr, name, r.read.log)
		return r.read, nil
	case <-ctx.Done():
		return readLog{}, ctx.Err()
	}
}

func (a *app) readLogNow(ctx context.Context, name string, o logOptions, talk conversation) (readLog, error) {
	var read readLog
	m, said, err := o.mapping()
	if err != nil {
		return read, err
	}
	file, err := openLog(name)
	if err != nil {
		return read, err
	}
	defer file.Close()
	digest := sha256.New()
	from := io.TeeReader(file, digest)
	reader, err := logfile.Open(from)
	if err != nil {
		return read, badLog(name, err)
	}
	layout := reader.Layout()
	if kept, err := a.remembered(layout); err == nil && !said {
		if again, err := readMap(kept); err == nil {
			m = again
			fmt.Fprintf(a.env.Stderr, "%s: columns as you said for this header before (%s)\n", prompt.Plain(name), kept)
		}
	}
	read.log, err = reader.Read(m)
	var asked *logfile.Doubtful
	if errors.As(err, &asked) && talk != nil { // nothing was read yet
		if m, err = a.askColumns(ctx, talk, name, asked.Layout, m); err != nil {
			return read, err
		}
		said = true
		read.log, err = reader.Read(m)
	}
	if err != nil {
		return read, badLog(name, err)
	}
	if _, err := io.Copy(io.Discard, from); err != nil {
		return read, badLog(name, err)
	}
	if said {
		a.remember(layout, m)
	}
	read.source = proof.Source{File: filepath.Base(name), Digest: record.Hash(digest.Sum(nil))}
	return read, nil
}

// badLog says where in a log something is wrong, and what can be done.
func badLog(name string, err error) error {
	var refused *logfile.Error
	var asked *logfile.Doubtful
	switch {
	case errors.As(err, &refused):
		where := prompt.Plain(name)
		if refused.Line > 0 {
			where = fmt.Sprintf("%s:%d", where, refused.Line)
		}
		return usage(where+": "+prompt.Plain(refused.What), prompt.Plain(refused.Hint))
	case errors.As(err, &asked):
		return doubtful(name, asked.Layout)
	}
	return fail(Failed, fmt.Errorf("%s: %w", prompt.Plain(name), err))
}

// doubtful says what is not certain of a log, each on a line of its own.
func doubtful(name string, l logfile.Layout) error {
	var all []error
	for _, d := range l.Doubts {
		all = append(all, fmt.Errorf("%s: not certain: %s", prompt.Plain(name), prompt.Plain(d)))
	}
	hints := []string{"say which column is what, such as --column time=#1 --column correction.1=#5, or by --map FILE; it is kept for the next log like this"}
	for _, c := range l.Columns {
		as := ""
		if c.Role != "" {
			as = ", taken as " + string(c.Role)
		}
		hints = append(hints, fmt.Sprintf("#%d %s (%s)%s", c.Number, strconv.Quote(prompt.Plain(c.Header)), prompt.Plain(strings.Join(c.Preview, ", ")), as))
	}
	return fail(Usage, errors.Join(all...), hints...)
}

// askColumns shows the beginning of a log and asks what its columns are.
func (a *app) askColumns(ctx context.Context, talk conversation, name string, l logfile.Layout, m logfile.Mapping) (logfile.Mapping, error) {
	out := a.env.Stdout
	fmt.Fprintf(out, "%s: not everything is certain\n", prompt.Plain(name))
	for _, d := range l.Doubts {
		fmt.Fprintln(out, report.Wrap("- "+prompt.Plain(d), "  ", 79))
	}
	for _, c := range l.Columns {
		fmt.Fprintf(out, "  #%-3d %-24s %-28s %s\n", c.Number, prompt.Plain(c.Header), prompt.Plain(strings.Join(c.Preview, ", ")), c.Role)
	}
	fmt.Fprintln(out, "Type ROLE=NUMBER to say what a column is, such as time=1 or correction.1=5;")
	fmt.Fprintln(out, "unit=mm3/stroke for the corrections, time-is=mm:ss for the times; Enter when it is right, q to leave.")
	for {
		text, err := talk.Read(ctx, "columns > ", 0)
		switch {
		case err != nil:
			return m, stopped(err, nothingKept)
		case text == "q":
			return m, fail(Stopped, errors.New("left; nothing was kept"))
		case text == "":
			settled, err := l.With(m)
			if err == nil && len(settled.Doubts) == 0 {
				return m, nil
			}
			if err != nil {
				fmt.Fprintln(out, "  "+prompt.Plain(err.Error()))
				continue
			}
			for _, d := range settled.Doubts {
				fmt.Fprintln(out, "  still not certain: "+prompt.Plain(d))
			}
			continue
		}
		for pair := range strings.FieldsSeq(text) {
			m = takePair(out, l, m, pair)
		}
	}
}

// takePair takes one answer about the columns.
func takePair(out io.Writer, l logfile.Layout, m logfile.Mapping, pair string) logfile.Mapping {
	key, value, ok := strings.Cut(pair, "=")
	next := m
	next.Columns = maps.Clone(m.Columns)
	if next.Columns == nil {
		next.Columns = map[logfile.Role]string{}
	}
	switch {
	case !ok:
		fmt.Fprintf(out, "  %q is not ROLE=NUMBER\n", prompt.Plain(pair))
		return m
	case key == "unit":
		next.Unit = value
	case key == "time-is":
		next.Clock = logfile.Clock(value)
	default:
		if _, err := strconv.Atoi(value); err == nil {
			value = "#" + value
		}
		next.Columns[logfile.Role(key)] = value
	}
	if _, err := l.With(next); err != nil {
		fmt.Fprintln(out, "  "+prompt.Plain(err.Error()))
		return m
	}
	return next
}

// test makes a test of a log.
func (o logOptions) test(r readLog, phase idletest.Phase, state idletest.State, run int) (idletest.Test, error) {
	t := idletest.Test{Phase: phase, State: state, Run: run, Measure: idletest.Corrections, Unit: idletest.CubicMillimetres, Samples: r.log.Samples, Sign: signWords[o.sign]}
	if o.measureName != "" {
		t.Measure = idletest.Measure(o.measureName)
	}
	for _, c := range r.log.Summary.Columns {
		if c.As.Cylinder() > 0 {
			t.Unit = idletest.Unit(c.Unit)
		}
	}
	if t.Measure == idletest.Speed {
		t.Unit = idletest.RPM
	}
	var err error
	t.Density, err = optionalFlag("density", o.density, quantity.ParseDensity, "such as --density '835 kg/m3'")
	if err == nil && t.Density != nil && !(t.Density.KilogramsPerCubicMetre() >= 700 && t.Density.KilogramsPerCubicMetre() <= 1000) {
		err = usage(fmt.Sprintf("--density %s is not that of a fuel, 700 to 1000 kg/m3", o.density))
	}
	return t, err
}
