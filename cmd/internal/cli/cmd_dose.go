package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"daytank/planner"
	"daytank/planner/fluid"
	"daytank/planner/quantity"
	"daytank/procedures/report"
)

// newDoseCommand makes `daytank dose`.
func newDoseCommand(a *app) *cobra.Command {
	var o doseOptions
	cmd := &cobra.Command{
		Use:   "dose FILE|JOB | dose --ratio RANGE [TANK=]FUEL...",
		Short: "how much tank additive for the fuel that is in the tanks now",
		Long: `Works out the dose of a tank additive, tank by tank: for the fuel that is in the
tank now, not for the size of the tank. Whole measures of the bottle are given
where one lies within the range of the label, plain volume otherwise; never more
than the label allows, and nothing for an empty tank.

It takes the tanks of a job, or the ratio of the label and the fuel in each
tank. The cleaning fluid that is used neat is another product and does not go
into the tank unless its label says so.`,
		Example: `  daytank dose van.yaml
  daytank dose --ratio '2 mL/L .. 5 mL/L' --measure 40mL main=41L aft=12L
  daytank dose --ratio '1 %' '30 gal'`,
		RunE: func(cmd *cobra.Command, args []string) error { return a.dose(cmd.Context(), args, o) },
	}
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "as JSON")
	cmd.Flags().StringVar(&o.ratio, "ratio", "", "`RANGE` of the label, such as '2 mL/L .. 5 mL/L'")
	cmd.Flags().StringVar(&o.measure, "measure", "", "`VOLUME` of the cap or chamber it is measured with")
	return cmd
}

// doseOptions are the flags of `daytank dose`.
type doseOptions struct {
	asJSON         bool
	ratio, measure string
}

func (a *app) dose(ctx context.Context, args []string, o doseOptions) error {
	show, err := a.printer()
	if err != nil {
		return err
	}
	var doses []planner.Dose
	var measure quantity.Volume
	if o.ratio == "" {
		doses, measure, err = a.dosesOfJob(ctx, args, o)
	} else {
		doses, measure, err = dosesByHand(args, o)
	}
	if err != nil {
		return err
	}
	if o.asJSON {
		return writeJSON(a.env.Stdout, report.OfDoses(doses))
	}
	report.DoseText(a.env.Stdout, doses, measure, show)
	fmt.Fprintln(a.env.Stdout, "\nThe label comes first: where it says something else, do that.")
	return nil
}

// dosesOfJob gives the doses of a job's tanks.
func (a *app) dosesOfJob(ctx context.Context, args []string, o doseOptions) ([]planner.Dose, quantity.Volume, error) {
	if len(args) != 1 || o.measure != "" {
		return nil, 0, usage("name one job file or job, or give --ratio and the fuel in each tank", "such as: daytank dose --ratio '2 mL/L .. 5 mL/L' 'main=41 L'")
	}
	job, err := a.jobOrFile(ctx, args[0], nil)
	switch {
	case err != nil:
		return nil, 0, err
	case job.TankDose == nil:
		return nil, 0, usage(args[0]+" says nothing of a tank dose", "add tank_dose to it, or give --ratio and the fuel in each tank")
	}
	return planner.Compute(job).Doses, job.TankDose.Measure, nil
}

// dosesByHand gives the doses of tanks named on the command line.
func dosesByHand(args []string, o doseOptions) ([]planner.Dose, quantity.Volume, error) {
	ratio, err := fluid.ParseDoseRange(o.ratio)
	if err != nil {
		return nil, 0, usage("--ratio: "+err.Error(), "such as --ratio '2 mL/L .. 5 mL/L'")
	}
	var measure quantity.Volume
	if o.measure != "" {
		if measure, err = quantity.ParseVolume(o.measure); err != nil || measure <= 0 {
			return nil, 0, usage(fmt.Sprintf("--measure %q is not a volume above zero", o.measure), "such as --measure '40 mL'")
		}
	}
	if len(args) == 0 {
		return nil, 0, usage("say how much fuel is in the tank", "such as: daytank dose --ratio '2 mL/L .. 5 mL/L' '41 L'")
	}
	var doses []planner.Dose
	for _, arg := range args {
		name, fuel, named := strings.Cut(arg, "=")
		if !named {
			name, fuel = "tank", arg
		}
		v, err := quantity.ParseVolume(fuel)
		if err == nil && (v < 0 || v > quantity.Litres(20000)) {
			err = fmt.Errorf("%s is outside 0 L to 20000 L", fuel)
		}
		if err != nil {
			return nil, 0, usage("fuel in the "+name+": "+err.Error(), "such as 'main=41 L' or '41 L'")
		}
		doses = append(doses, planner.DoseFor(planner.Tank{Name: name, Fuel: v}, ratio.Min, ratio.Max, measure))
	}
	return doses, measure, nil
}
