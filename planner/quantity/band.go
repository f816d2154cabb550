package quantity

// Band is an uncertain quantity: what is expected, and the ends between which
// it is thought to lie. Low ≤ Expected ≤ High.
type Band[T ~float64] struct{ Low, Expected, High T }

// Exactly gives the band of a quantity without uncertainty.
func Exactly[T ~float64](x T) Band[T] { return Band[T]{x, x, x} }

// Around gives the band from x(1−part) to x(1+part).
func Around[T ~float64](x T, part float64) Band[T] {
	return Band[T]{x * T(1-part), x, x * T(1+part)}
}

// Times gives the band with every end multiplied by a factor of 0 or more.
func (b Band[T]) Times(factor float64) Band[T] {
	return Band[T]{b.Low * T(factor), b.Expected * T(factor), b.High * T(factor)}
}

// Plus adds two bands end by end: the ends are taken to occur together.
func (b Band[T]) Plus(c Band[T]) Band[T] {
	return Band[T]{b.Low + c.Low, b.Expected + c.Expected, b.High + c.High}
}
