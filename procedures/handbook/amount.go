package handbook

import (
	"fmt"
	"strconv"
	"strings"

	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// readers read an amount as the quantity that has its unit. A kelvin stands for
// a difference of temperature, a degree for a point on the scale.
var readers = []func(string) (any, bool){
	as(quantity.ParseVolume), as(quantity.ParseFlow), as(quantity.ParseLength), as(quantity.ParsePressure), difference,
	as(quantity.ParseTemperature), as(quantity.ParseDensity), as(quantity.ParseViscosity), as(quantity.ParsePerStroke),
	as(quantity.ParseSpeed), as(quantity.ParsePower), as(quantity.ParseDuration), as(quantity.ParseDistance), as(quantity.ParseDose), number,
}

func as[T any](parse func(string) (T, error)) func(string) (any, bool) {
	return func(text string) (any, bool) {
		x, err := parse(text)
		return x, err == nil
	}
}

func difference(text string) (any, bool) {
	if !strings.HasSuffix(text, " K") {
		return nil, false
	}
	return as(quantity.ParseTemperatureDifference)(text)
}

func number(text string) (any, bool) {
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil
}

// amountOf reads an amount of any quantity, or a plain number.
func amountOf(text string) (any, error) {
	for _, read := range readers {
		if x, ok := read(text); ok {
			return x, nil
		}
	}
	return nil, fmt.Errorf("{%s} is no amount", text)
}

// readPhrase reads a text with amounts in braces.
func readPhrase(v strict.Value) quantity.Phrase {
	return strict.Read(v, phraseOf)
}

func phraseOf(text string) (quantity.Phrase, error) {
	var p quantity.Phrase
	for {
		before, after, found := strings.Cut(text, "{")
		p.Format += strings.ReplaceAll(before, "%", "%%")
		if !found {
			return p, nil
		}
		inside, rest, closed := strings.Cut(after, "}")
		if !closed {
			return p, fmt.Errorf("a brace is not closed")
		}
		amount, err := amountOf(inside)
		if err != nil {
			return p, err
		}
		p.Format, text = p.Format+"%v", rest
		p.Args = append(p.Args, amount)
	}
}
