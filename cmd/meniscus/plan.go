package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"meniscus/plan"
	"meniscus/unit"
)

func planCommand(a *app) *cobra.Command {
	var electrons []int
	c := &cobra.Command{
		Use:     "plan --electrons N1,N2",
		Short:   "how far apart two potentials must be",
		Long:    "plan says how far apart the potentials of titrand and titrant must be for the\nreaction to be complete enough at the equivalence point, at 25 °C, for couples with\none species in either form.",
		Example: "  meniscus plan --electrons 1,5",
		Args:    exactly(0, "plan"),
		RunE: func(*cobra.Command, []string) error {
			if len(electrons) != 2 || electrons[0] < 1 || electrons[1] < 1 {
				return misused("plan needs --electrons with two numbers of electrons from 1, such as 1,5")
			}
			fmt.Fprintf(a.out, "couples of %d and %d electrons, 25 °C\n\n%12s%24s\n", electrons[0], electrons[1], "complete to", "potentials apart by")
			for _, x := range []float64{0.99, 0.999, 0.9999} {
				e := plan.Separation(electrons[0], electrons[1], plan.Decades(x), unit.Celsius(25))
				fmt.Fprintf(a.out, "%10.2f %%%22.3f V\n", 100*x, float64(e))
			}
			return nil
		},
	}
	c.Flags().IntSliceVar(&electrons, "electrons", nil, "electrons of the titrand's and the titrant's couple, such as 1,5")
	return c
}
