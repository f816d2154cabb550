package idletest

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// MostCylinders and mostSamples bound what is read back.
const (
	MostCylinders = 16
	mostSamples   = 1 << 20 // of a channel
	samplesTitle  = "daytank idle samples 1"
)

// NamedSeries is a channel with its name: coolant, speed, load, quantity,
// rail-pressure, fuel-temperature or correction.N.
type NamedSeries struct {
	Name   string
	Series *Series
}

// Channels gives all channels, those not recorded too, in the order they are written.
func (s *Samples) Channels() []NamedSeries {
	all := []NamedSeries{
		{"coolant", &s.Coolant},
		{"speed", &s.Speed},
		{"load", &s.Load},
		{"quantity", &s.Quantity},
		{"rail-pressure", &s.RailPressure},
		{"fuel-temperature", &s.FuelTemp},
	}
	for i := range s.Corrections {
		all = append(all, NamedSeries{fmt.Sprintf("correction.%d", i+1), &s.Corrections[i]})
	}
	return all
}

// Encode writes samples as text: a title, then of each channel that holds any its
// name and resolution, a line of times in seconds and a line of values. The same
// samples give the same bytes, and every number reads back as it was.
func (s Samples) Encode() []byte {
	var b bytes.Buffer
	fmt.Fprintln(&b, samplesTitle)
	for _, c := range s.Channels() {
		if c.Series.Len() == 0 && !strings.HasPrefix(c.Name, "correction.") {
			continue
		}
		fmt.Fprintf(&b, "%s %s\n", c.Name, plainNumber(c.Series.Step))
		for _, list := range [][]float64{c.Series.T, c.Series.V} {
			for i, x := range list {
				if i > 0 {
					b.WriteByte(' ')
				}
				b.WriteString(plainNumber(x))
			}
			b.WriteByte('\n')
		}
	}
	return b.Bytes()
}

func plainNumber(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// DecodeSamples reads what Encode wrote. It refuses another title, channels that are
// unknown, twice or out of order, times that do not rise, and numbers that are not
// finite.
func DecodeSamples(text []byte) (Samples, error) {
	var s Samples
	lines := strings.Split(string(text), "\n")
	if lines[0] != samplesTitle || lines[len(lines)-1] != "" || (len(lines)-2)%3 != 0 {
		return s, fmt.Errorf("these are no samples of an idle test: the first line is %.40q", lines[0])
	}
	seen := map[string]bool{}
	for i := 1; i+2 < len(lines); i += 3 {
		name, step, _ := strings.Cut(lines[i], " ")
		if seen[name] {
			return s, fmt.Errorf("line %d: channel %q stands there twice", i+1, name)
		}
		seen[name] = true
		series, err := s.channel(name)
		if err != nil {
			return s, fmt.Errorf("line %d: %w", i+1, err)
		}
		if series.Step, err = finite(step); err != nil || series.Step < 0 {
			return s, fmt.Errorf("line %d: resolution %q", i+1, step)
		}
		if series.T, err = numbers(lines[i+1]); err != nil {
			return s, fmt.Errorf("line %d: %w", i+2, err)
		}
		if series.V, err = numbers(lines[i+2]); err != nil {
			return s, fmt.Errorf("line %d: %w", i+3, err)
		}
		if len(series.T) != len(series.V) {
			return s, fmt.Errorf("line %d: %d times and %d values", i+2, len(series.T), len(series.V))
		}
		for k := 1; k < len(series.T); k++ {
			if series.T[k] <= series.T[k-1] {
				return s, fmt.Errorf("line %d: the times do not rise at %g", i+2, series.T[k])
			}
		}
	}
	return s, nil
}

// channel gives the series of a name; corrections come in order.
func (s *Samples) channel(name string) (*Series, error) {
	for _, c := range s.Channels() {
		if c.Name == name {
			return c.Series, nil
		}
	}
	next := len(s.Corrections) + 1
	if name != fmt.Sprintf("correction.%d", next) || next > MostCylinders {
		return nil, fmt.Errorf("%q is no channel that could stand here", name)
	}
	s.Corrections = append(s.Corrections, Series{})
	return &s.Corrections[next-1], nil
}

func numbers(line string) ([]float64, error) {
	if line == "" {
		return nil, nil
	}
	fields := strings.Split(line, " ")
	if len(fields) > mostSamples {
		return nil, fmt.Errorf("%d values, more than %d", len(fields), mostSamples)
	}
	out := make([]float64, len(fields))
	for i, f := range fields {
		x, err := finite(f)
		if err != nil {
			return nil, err
		}
		out[i] = x
	}
	return out, nil
}

func finite(text string) (float64, error) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, fmt.Errorf("%.40q is no number", text)
	}
	return x, nil
}
