package quantity

import "fmt"

// System is the set of units that quantities are shown in. All units are read
// with either.
type System uint8

// The systems. The zero System is Metric.
const (
	Metric      System = iota // L, mm, kPa, °C
	USCustomary               // gal, in, psi, °F
)

// ParseSystem reads "metric" or "us".
func ParseSystem(text string) (System, error) {
	for _, s := range []System{Metric, USCustomary} {
		if text == s.String() {
			return s, nil
		}
	}
	return Metric, fmt.Errorf("%q is not one of %v, %v", text, Metric, USCustomary)
}

// String gives the word that [ParseSystem] reads.
func (s System) String() string {
	switch s {
	case Metric:
		return "metric"
	case USCustomary:
		return "us"
	}
	return fmt.Sprintf("system %d", uint8(s))
}
