package procedures

import (
	"fmt"
	"slices"
	"strings"

	"daytank/planner/engine"
)

// Facts of a plan that a step may depend on, and the values each can have. Nil
// is any value.
var Facts = map[string][]string{
	"layout":          nil,
	"place":           {"outdoors", "extraction", "indoors"},
	"people":          {"alone", "together"},
	"coil":            yesOrNo,
	"filter_in_loop":  yesOrNo,
	"taps":            yesOrNo,
	"feed":            {"engine", "pump"},
	"soak":            yesOrNo,
	"aftertreatment":  {"none", "particulate-filter"},
	"injectors":       {"solenoid", "piezo", "mechanical"},
	"return_to":       {"container", "waste"},
	"primer":          {"hand", "electric"},
	"flush":           yesOrNo,
	"container_above": yesOrNo,
	"metal_needed":    yesOrNo,
	"dose":            yesOrNo,
	"tank_pump":       yesOrNo,
	"mechanical":      yesOrNo,
}

var yesOrNo = []string{"yes", "no"}

// LayoutFacts are the facts that a layout alone settles, whatever the plan.
func LayoutFacts(l engine.Layout) map[string]string {
	return map[string]string{"layout": l.ID, "tank_pump": YesNo(l.HasTankPump()), "mechanical": YesNo(l.Mechanical)}
}

// YesNo gives a fact that is so or not.
func YesNo(x bool) string {
	if x {
		return "yes"
	}
	return "no"
}

// Condition says when a step applies: all of its clauses hold. None is always.
type Condition []Clause

// Clause is a fact and the values it may have.
type Clause struct {
	Fact   string
	Values []string
}

// ParseCondition reads clauses `FACT is VALUE` or `FACT in [VALUE, VALUE]`,
// joined by ` and `. Facts and values are closed sets.
func ParseCondition(text string) (Condition, error) {
	var c Condition
	for part := range strings.SplitSeq(text, " and ") {
		clause, err := parseClause(strings.TrimSpace(part))
		if err != nil {
			return nil, err
		}
		c = append(c, clause)
	}
	return c, nil
}

func parseClause(text string) (Clause, error) {
	fact, rest, _ := strings.Cut(text, " ")
	word, value, _ := strings.Cut(strings.TrimSpace(rest), " ")
	c := Clause{Fact: fact}
	value = strings.TrimSpace(value)
	switch {
	case word == "is" && value != "":
		c.Values = []string{value}
	case word == "in" && strings.HasPrefix(value, "[") && strings.HasSuffix(value, "]"):
		for v := range strings.SplitSeq(value[1:len(value)-1], ",") {
			c.Values = append(c.Values, strings.TrimSpace(v))
		}
	default:
		return c, fmt.Errorf("condition %q is not FACT is VALUE or FACT in [VALUE, VALUE]", text)
	}
	known, ok := Facts[fact]
	if !ok {
		return c, fmt.Errorf("condition %q: %q is not a known fact", text, fact)
	}
	for _, v := range c.Values {
		if known != nil && !slices.Contains(known, v) {
			return c, fmt.Errorf("condition %q: %s is never %q, only %s", text, fact, v, strings.Join(known, ", "))
		}
	}
	return c, nil
}

// Holds tells whether the condition is true of a plan's facts.
func (c Condition) Holds(facts map[string]string) bool {
	for _, clause := range c {
		if !slices.Contains(clause.Values, facts[clause.Fact]) {
			return false
		}
	}
	return true
}
