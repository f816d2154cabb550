package quantity

import (
	"bytes"
	"math"
	"strconv"
)

// factor converts a number in some unit to the unit its quantity is kept in:
// (x·num + off) / den. num, den and off are whole numbers where the unit's
// definition allows it, so that nothing is rounded before the division.
type factor struct{ num, den, off float64 }

// The factors that constructors and accessors share with the tables of units.
var (
	one                = factor{num: 1, den: 1}
	thousand           = factor{num: 1e3, den: 1}
	perThousand        = factor{num: 1, den: 1e3}
	perMillion         = factor{num: 1, den: 1e6}
	perThousandMillion = factor{num: 1, den: 1e9}
	perMinute          = factor{num: 1, den: 60}
	litrePerHour       = factor{num: 1, den: 3.6e6}
	minute             = factor{num: 60, den: 1}
	hour               = factor{num: 3600, den: 1}
	kelvinScale        = factor{num: 100, den: 100, off: -27315}
)

// toBase converts x. It takes x for the shortest decimal that reads as x, so
// that 0.3 L, 300 mL and Litres(0.3) are the same number to the last bit and a
// limit of one can be compared with the other. Numbers with more digits than
// that can be done for are multiplied and divided as they are, within a few
// units in the last place. Adding off, even where it is 0, takes the sign off a
// negative zero.
func (f factor) toBase(x float64) float64 {
	if y, ok := f.exactly(x); ok {
		return y
	}
	return (x*f.num + f.off) / f.den
}

// fromBase undoes toBase, with the same care.
func (f factor) fromBase(y float64) float64 {
	return factor{num: f.den, den: f.num, off: -f.off}.toBase(y)
}

// exactly converts x with a single rounding; false where an intermediate number
// does not fit a float64.
func (f factor) exactly(x float64) (float64, bool) {
	m, exponent, ok := decimal(x)
	if !ok {
		return 0, false
	}
	up, down := 1.0, 1.0
	switch {
	case exponent > 0 && exponent < len(powersOfTen):
		up = powersOfTen[exponent]
	case exponent < 0 && -exponent < len(powersOfTen):
		down = powersOfTen[-exponent]
	case exponent != 0:
		return 0, false
	}
	scaled, ok1 := product(m, up)
	n, ok2 := product(scaled, f.num)
	d, ok3 := product(f.den, down)
	off, ok4 := product(f.off, down)
	sum, ok5 := total(n, off)
	return sum / d, ok1 && ok2 && ok3 && ok4 && ok5
}

// product multiplies and tells whether nothing was rounded: the fused
// multiply-add gives the rounding error, which is itself a float64.
func product(a, b float64) (float64, bool) {
	p := a * b
	return p, math.FMA(a, b, -p) == 0
}

// wholeLimit is where whole numbers begin to be rounded.
const wholeLimit = 1 << 53

// total adds and tells whether nothing was rounded.
func total(a, b float64) (float64, bool) {
	return a + b, b == 0 || (a == math.Trunc(a) && b == math.Trunc(b) && math.Abs(a)+math.Abs(b) < wholeLimit)
}

var powersOfTen = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// decimal takes x apart into m·10^exponent with m whole, by its shortest
// decimal form; false where m does not fit, or x is no finite number.
func decimal(x float64) (m float64, exponent int, ok bool) {
	if x == math.Trunc(x) && math.Abs(x) < wholeLimit {
		return x, 0, true
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, 0, false
	}
	var space [32]byte
	digits, power, _ := bytes.Cut(strconv.AppendFloat(space[:0], x, 'e', -1, 64), []byte{'e'})
	exponent, err := strconv.Atoi(string(power))
	if err != nil {
		return 0, 0, false
	}
	for _, c := range digits {
		switch {
		case c == '-':
		case c == '.':
			exponent -= len(digits) - 1 - bytes.IndexByte(digits, '.')
		default:
			m = m*10 + float64(c-'0')
		}
	}
	return math.Copysign(m, x), exponent, m < wholeLimit
}
