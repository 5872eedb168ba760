package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"meniscus/report"
	"meniscus/setup"
	"meniscus/unit"
)

func predictCommand(a *app) *cobra.Command {
	var at, format, out, theme, reading string
	c := &cobra.Command{
		Use:   "predict SETUP",
		Short: "the curve of a titration, from its setup file",
		Long:  "predict computes the curve of the titration that SETUP describes: potential\nagainst the setup's reference electrode, pH where H+ plays a part, and pIon for\nion electrodes. A figure marks half, equivalence and twice.",
		Example: "  meniscus predict iron.yaml\n  meniscus predict iron.yaml --at 12.5,25,50\n" +
			"  meniscus predict iron.yaml --at \"0 to 50 step 0.5 mL\" --format csv\n  meniscus predict iron.yaml --format pdf --output curve.pdf",
		Args: exactly(1, "predict"),
		RunE: func(_ *cobra.Command, args []string) error {
			if reading != "" {
				return a.atReading(args[0], reading)
			}
			return a.predict(args[0], at, format, out, theme)
		},
	}
	c.Flags().StringVar(&at, "at", "", "volumes, such as 12.5,25 or \"0 to 50 step 0.5 mL\" (mL if no unit is given)")
	c.Flags().StringVar(&format, "format", "table", strings.Join(report.CurveFormatNames(), ", "))
	c.Flags().StringVarP(&out, "output", "o", "", "file to write to instead of standard output")
	c.Flags().StringVar(&reading, "reading", "", "say at which volume the curve shows this potential or pH, and how far from equivalence")
	c.Flags().StringVar(&theme, "theme", "light", "of figures: light or dark")
	return c
}

func (a *app) predict(name, at, format, out, theme string) error {
	f, ok := report.CurveFormat(format)
	if !ok {
		return misused("unknown format %q; have %s", format, strings.Join(report.CurveFormatNames(), ", "))
	}
	if theme != "light" && theme != "dark" {
		return misused("unknown theme %q; have light, dark", theme)
	}
	s, err := a.setup(name)
	if err != nil {
		return err
	}
	if s.Titration == nil {
		return fmt.Errorf("%s gives only a ratio; a curve needs species under flask and burette", name)
	}
	if at != "" {
		if s.Volumes, err = parseAt(at); err != nil {
			return misused("--at: %v", err)
		}
	}
	p, err := report.Predict(s, at != "" || s.Volumes != nil)
	if err != nil {
		return err
	}
	p.Dark = theme == "dark"
	a.warn(s.Warnings)
	if f.Binary && out == "" && isTerminal(a.out) {
		return misused("%s is not text; name a file with --output curve.%s", format, format)
	}
	p.Sketch = out == "" && isTerminal(a.out) && at == ""
	w, err := a.create(out)
	if err != nil {
		return err
	}
	return w.close(f.Write(w, p))
}

// parseAt reads volumes; without a unit they are in mL.
func parseAt(at string) ([]unit.Decimal, error) {
	if at = strings.TrimSpace(at); at != "" && strings.ContainsRune("0123456789.", rune(at[len(at)-1])) && !endsInCubic(at) {
		at += " mL"
	}
	return setup.ParseVolumes(at)
}

// endsInCubic says whether the last digit is part of a unit, as in cm3.
func endsInCubic(s string) bool { return strings.HasSuffix(s, "m3") || strings.HasSuffix(s, "m^3") }

func (a *app) setup(name string) (*setup.Setup, error) {
	data, err := a.readFile(name, "the setup")
	if err != nil {
		return nil, err
	}
	return setup.Read(data, name)
}

func isTerminal(w io.Writer) bool {
	if s, ok := w.(*stream); ok {
		w = s.Writer
	}
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// atReading answers at which volume a potential or pH is reached: the error
// of an end point that is read there.
func (a *app) atReading(name, reading string) error {
	q, err := unit.ParseQuantity(reading)
	if err != nil {
		return misused("--reading: %v", err)
	}
	s, err := a.setup(name)
	if err != nil {
		return err
	}
	if s.Titration == nil {
		return fmt.Errorf("%s gives only a ratio; a curve needs species under flask and burette", name)
	}
	y := q.Value.Float()
	if q.Unit != "" {
		v, _, err := q.In(unit.DimPotential, "0.85 V")
		if err != nil {
			return misused("--reading: %v", err)
		}
		y = v.Float() * 1e3
	} else if s.Titration.Cell.Known {
		return misused("--reading %s has no unit; a potential is meant, such as 850 mV", reading)
	}
	p, err := report.Predict(s, false)
	if err != nil {
		return err
	}
	a.warn(s.Warnings)
	pt, off, ok, err := p.AtReading(y)
	if err != nil {
		return err
	}
	if !ok {
		return fmt.Errorf("the curve does not show %s up to twice the equivalence volume", reading)
	}
	fmt.Fprintf(a.out, "%s is reached at %.6g mL, %+.3g %% from the equivalence volume\n", q.Text, pt.Volume.Millilitres(), off*100)
	return nil
}
