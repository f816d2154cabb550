package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures/report"
	"daytank/safety"
)

// variant is a plan with one value of the job changed.
type variant struct {
	Set  string      `json:"set"`
	Plan report.Plan `json:"plan"`
}

// mostVariants is how many values are compared at most: a table of more is read
// by nobody.
const mostVariants = 20

// comparePlans shows the plans for several values of one thing side by side.
func (a *app) comparePlans(job planner.Job, flag string, asJSON bool, show quantity.Printer) error {
	path, values, found := strings.Cut(flag, "=")
	if !found || strings.TrimSpace(values) == "" {
		return usage(fmt.Sprintf("--compare %q is not written PATH=VALUE,VALUE", flag), "such as --compare 'rig.charge=1.8 L,2.4 L,3 L'")
	}
	all := splitValues(values)
	if len(all) > mostVariants {
		return usage(fmt.Sprintf("%d values are more than the %d that are compared at once", len(all), mostVariants))
	}
	var variants []variant
	var problems []error
	for _, value := range all {
		changed, err := job.With(path, value)
		if err != nil {
			problems = append(problems, fmt.Errorf("--compare %s=%s: %w", path, value, err))
			continue
		}
		plan := planner.Compute(changed)
		judged := safety.Assess(changed, plan)
		variants = append(variants, variant{path + "=" + value, report.OfPlan(changed, plan, judged, nil, show)})
	}
	if err := errors.Join(problems...); err != nil {
		return fail(Usage, err)
	}
	if asJSON {
		return writeJSON(a.env.Stdout, variants)
	}
	rows := make([]report.Variant, len(variants))
	for i, v := range variants {
		rows[i] = report.Variant{Value: all[i], Plan: v.Plan}
	}
	report.CompareText(a.env.Stdout, path, rows, show)
	return nil
}

// splitValues parts values at commas; one between digits is a decimal comma, and
// one inside brackets belongs to its value.
func splitValues(text string) []string {
	var all []string
	runes := []rune(text)
	depth, from := 0, 0
	add := func(to int) {
		if v := strings.TrimSpace(string(runes[from:to])); v != "" {
			all = append(all, v)
		}
		from = to + 1
	}
	for i, r := range runes {
		switch {
		case r == '{' || r == '[':
			depth++
		case r == '}' || r == ']':
			depth--
		case r == ',' && depth == 0 && !decimalComma(runes, i):
			add(i)
		}
	}
	add(len(runes))
	return all
}

// decimalComma tells whether a comma stands inside a number: "1,8 L" is one, and
// "2,3,4" are three values.
func decimalComma(runes []rune, i int) bool {
	if i == 0 || i+1 >= len(runes) || !unicode.IsDigit(runes[i-1]) || !unicode.IsDigit(runes[i+1]) {
		return false
	}
	rest := strings.TrimLeft(string(runes[i+1:]), "0123456789")
	rest = strings.TrimLeft(rest, " ")
	return rest != "" && rest[0] != ','
}

// fitted gives the job with the longest run that a charge is enough for, and the
// changes made.
func fitted(job planner.Job, flag string) (planner.Job, []string, error) {
	charge, err := chargeToFit(job, flag)
	if err != nil {
		return job, nil, err
	}
	pour := "rig.charge=" + strconv.FormatFloat(charge.Millilitres(), 'f', -1, 64) + " mL"
	job, err = safety.Apply(job, []string{pour})
	if err != nil {
		return job, nil, fail(Usage, err)
	}
	changes, ok := job.LongestRun(func(_ planner.Job, p planner.Plan) bool { return p.Fluid.Needed <= charge+1e-9 })
	if !ok {
		f := planner.Compute(job).Fluid
		return job, nil, fail(Failed, fmt.Errorf("no run fits %s: flush, hoses and reserve alone take %.0f mL", flag, (f.Flush+f.Hoses+f.Reserve).Millilitres()),
			"pour in more, flush less, or take a container with less below its pick-up")
	}
	job, err = safety.Apply(job, changes)
	return job, append([]string{pour}, changes...), fail(Usage, err)
}

func chargeToFit(job planner.Job, flag string) (quantity.Volume, error) {
	what, value, _ := strings.Cut(flag, "=")
	switch what {
	case "packs":
		n, err := strconv.Atoi(strings.TrimSpace(value))
		if err != nil || n < 1 || n > 1000 {
			return 0, usage(fmt.Sprintf("--fit packs=%s is not a number of packs", value), "such as --fit packs=2")
		}
		return quantity.Volume(n) * job.Fluid.Pack, nil
	case "charge":
		v, err := quantity.ParseVolume(value)
		if err != nil {
			return 0, usage("--fit charge: "+err.Error(), "such as --fit 'charge=1.8 L'")
		}
		return v, nil
	}
	return 0, usage(fmt.Sprintf("--fit %q is neither packs=N nor charge=VOLUME", flag), "such as --fit packs=2")
}

// tellFitted says what was changed, so that it can be written into the job file.
func (a *app) tellFitted(changes []string) {
	fmt.Fprintln(a.env.Stderr, "the longest run that fits, in half minutes:")
	for _, c := range changes {
		fmt.Fprintf(a.env.Stderr, "  --set '%s'\n", c)
	}
}
