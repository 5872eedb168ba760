package main

import (
	"bufio"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/constants"
)

func constantsCommand(a *app) *cobra.Command {
	var shares, conflicts bool
	c := &cobra.Command{
		Use:   "constants [WORD...]",
		Short: "what the tables hold, with sources",
		Long:  "constants looks up potentials, acidity, stability and solubility constants,\nindicators and colours by element, species, name or kind. A source is named only\nwhere the value was read there; everything else says memory.",
		Example: "  meniscus constants iron\n  meniscus constants Ce^4+\n  meniscus constants acetic acid\n" +
			"  meniscus constants pKsp\n  meniscus constants --shares",
		RunE: func(_ *cobra.Command, args []string) error {
			switch {
			case shares:
				return a.shares()
			case conflicts:
				return a.conflicts()
			case len(args) == 0:
				return misused("constants needs a word: an element, a species such as Fe^2+, a name, or a kind such as redox or pKsp")
			}
			return a.constants(strings.Join(args, " "))
		},
	}
	c.Flags().BoolVar(&shares, "shares", false, "how many values of each table were read in a source, and how many are from memory")
	c.Flags().BoolVar(&conflicts, "conflicts", false, "where two sources disagree")
	return c
}

func (a *app) constants(word string) error {
	found, err := constants.Find(word)
	if err != nil {
		return err
	}
	if found.Empty() {
		return fmt.Errorf("the tables hold nothing about %q (read as %s)", word, found.Read)
	}
	b := bufio.NewWriter(a.out)
	fmt.Fprintf(b, "%s\n", found.Read)
	for _, row := range found.Rows {
		printRow(b, row)
	}
	for _, i := range found.Indicators {
		printIndicator(b, i)
	}
	for _, c := range found.Colours {
		fmt.Fprintf(b, "\n%s: %s", c.Species.Unicode(), c.Shade.Word)
		if c.Medium != "" {
			fmt.Fprintf(b, " in %s", c.Medium)
		}
		fmt.Fprintf(b, "  [%s]\n", c.Source.Key)
	}
	return b.Flush()
}

func printRow(b *bufio.Writer, row constants.Row) {
	unitText := row.Kind.Unit()
	fmt.Fprintf(b, "\n%s\n  %s %s", row.Reaction.Unicode(), row.Kind, row.Digits)
	if unitText != "" && unitText != "1" {
		fmt.Fprintf(b, " %s", unitText)
	}
	fmt.Fprintf(b, "%s  [%s]\n", conditions(row), row.Source.Key)
	for _, n := range []struct{ what, text string }{{"further value", row.Also}, {"takes no part unless allowed", row.Inactive}, {"takes part only with", strings.Join(row.Needs, " or ")}, {"note", row.Note}} {
		if n.text != "" {
			fmt.Fprintf(b, "  %s: %s\n", n.what, n.text)
		}
	}
}

func (a *app) shares() error {
	list, err := constants.Shares()
	if err != nil {
		return err
	}
	read, all := 0, 0
	fmt.Fprintf(a.out, "%-18s%8s%10s%10s\n", "table", "rows", "read", "memory")
	for _, s := range list {
		fmt.Fprintf(a.out, "%-18s%8d%10d%10d\n", s.Table, s.Rows(), s.Read, s.Memory)
		read, all = read+s.Read, all+s.Rows()
	}
	fmt.Fprintf(a.out, "\n%d of %d values were read in a source; the others are from memory\n", read, all)
	return nil
}

func (a *app) conflicts() error {
	list, err := constants.Conflicts()
	if err != nil {
		return err
	}
	b := bufio.NewWriter(a.out)
	for _, c := range list {
		fmt.Fprintf(b, "%s, %s: apart by %.4g %s\n", c.Rows[0].Reaction.Unicode(), c.Rows[0].Kind, c.Span, strings.TrimSuffix(c.Rows[0].Kind.Unit(), "1"))
		for _, row := range c.Rows {
			fmt.Fprintf(b, "  %-10s%s  [%s]\n", row.Digits, conditions(row), row.Source.Key)
		}
	}
	return b.Flush()
}

func printIndicator(b *bufio.Writer, i constants.Indicator) {
	fmt.Fprintf(b, "\n%s (%s indicator): %s, %s", i.Name, i.Type, i.Colours[0].Word, i.Colours[1].Word)
	if i.Digits != "" {
		fmt.Fprintf(b, "; %s", i.Digits)
		if i.Type == constants.RedoxIndicator {
			fmt.Fprint(b, " V against SHE")
		}
	}
	if i.Medium != "" {
		fmt.Fprintf(b, " in %s", i.Medium)
	}
	fmt.Fprintf(b, "  [%s]\n", i.Source.Key)
	if i.Note != "" {
		fmt.Fprintf(b, "  note: %s\n", i.Note)
	}
}

// conditions says in which medium, ionic strength and temperature a value
// holds.
func conditions(row constants.Row) string {
	s := ""
	if row.Medium != "" {
		s += " in " + row.Medium
	}
	if row.IonicStrength.Known && row.Kind != constants.StandardPotential {
		s += fmt.Sprintf(", I = %g mol/L", row.IonicStrength.Value)
	}
	if t := row.Temperature.Celsius(); t < 24.99 || t > 25.01 {
		s += fmt.Sprintf(", %.4g °C", t)
	}
	if row.Spread.Known {
		s += fmt.Sprintf(", ± %g", row.Spread.Value)
	}
	if row.DEDT.Known {
		s += fmt.Sprintf(", dE/dT %.3g mV/K", row.DEDT.Value*1e3)
	}
	if row.Enthalpy.Known {
		s += fmt.Sprintf(", ΔH %g kJ/mol", row.Enthalpy.Value)
	}
	return s
}
