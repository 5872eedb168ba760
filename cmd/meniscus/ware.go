package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

func wareCommand(a *app) *cobra.Command {
	var volume, temperature, format string
	c := &cobra.Command{
		Use:   "ware [FILE]",
		Short: "burettes, pipettes and flasks: calibration by weighing water, and temperature",
		Long: "ware turns weighings of water into the volume at 20 °C of a pipette or flask, or\ninto the corrections of a burette, with their uncertainty, beside the limit of the\nclass. FILE is YAML (- for standard input):\n\n" +
			"  title: burette 7\n  kind: burette            # burette, pipette or flask\n  capacity: 50 mL\n  class: A\n  temperature: 22.4 ± 0.1 °C\n  air: 1.19 ± 0.01 g/L     # 1.2 g/L where left out\n  balance: 0.3 mg          # standard uncertainty of a difference, beyond repeatability\n  glass: borosilicate      # or soda-lime\n  points:\n    - {at: 10 mL, water: [9.965 g, 9.969 g, 9.961 g]}\n    - {at: 20 mL, water: [19.932 g, 19.938 g, 19.929 g]}\n\n" +
			"A pipette or flask has water: at the top instead of points. The certificate that\ncomes out for a burette can stand under ware in the file of a chain.\n\nWithout FILE a volume read at another temperature is turned into that at 20 °C.",
		Example: "  meniscus ware burette.yaml\n  meniscus ware --volume \"25.00 mL\" --temperature \"27 °C\"",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return misused("unknown format %q; have text, json", format)
			}
			switch {
			case len(args) == 1 && (volume != "" || temperature != ""):
				return misused("--volume and --temperature stand without FILE: the file has its own")
			case len(args) == 1:
				return a.calibrate(args[0], format)
			case volume == "" || temperature == "":
				return misused("ware needs FILE with weighings, or --volume and --temperature")
			}
			return a.atReference(volume, temperature, format)
		},
	}
	f := c.Flags()
	f.StringVar(&volume, "volume", "", "volume as read")
	f.StringVar(&temperature, "temperature", "", "temperature of the liquid and the ware")
	f.StringVar(&format, "format", "text", "text, json")
	return c
}

// jsonReference is a volume turned into that at 20 °C in two ways.
type jsonReference struct {
	Schema      string  `json:"schema"`
	Volume      float64 `json:"volume_mL"`
	Temperature float64 `json:"temperature_C"`
	ByDensity   float64 `json:"volume_20C_by_density_mL"`
	ByCoeff     float64 `json:"volume_20C_by_coefficient_mL"`
	Coefficient float64 `json:"coefficient_per_K"`
}

func (a *app) atReference(volume, temperature, format string) error {
	v, u, err := measured(volume, unit.DimVolume, "25.00 mL", "--volume")
	if err != nil {
		return err
	}
	t, _, err := measured(temperature, unit.DimTemperature, "27 °C", "--temperature")
	if err != nil {
		return err
	}
	if !(v > 0) {
		return misused("--volume: %s is not above 0", volume)
	}
	at := unit.Temperature(t)
	dense, err := volumetric.VolumeAtReference(unit.Volume(v), at)
	if err != nil {
		return misused("--temperature: %v", err)
	}
	linear := volumetric.VolumeByCoefficient(unit.Volume(v), at, volumetric.WaterExpansion)
	if format == "json" {
		return writeIndented(a.out, jsonReference{"meniscus.ware-temperature/1", v * 1e3, at.Celsius(), dense.Millilitres(), linear.Millilitres(), volumetric.WaterExpansion})
	}
	var s strings.Builder
	fmt.Fprintf(&s, "%s of water or a dilute solution at %.4g °C takes up at 20 °C\n", trimmedVolume(v, u), at.Celsius())
	for _, row := range []struct {
		x   unit.Volume
		how string
	}{
		{dense, "by the density of water"},
		{linear, fmt.Sprintf("by the coefficient that guides give, %.2g per K", volumetric.WaterExpansion)},
	} {
		fmt.Fprintf(&s, "  %.3f mL  %+.3f %%  %s\n", row.x.Millilitres(), 100*(float64(row.x)/v-1), row.how)
	}
	s.WriteString("The two differ because water's own coefficient grows with temperature; use the\ndensity. The glass, which grows by 1e-5 per K, is not in it.\n")
	_, err = io.WriteString(a.out, s.String())
	return err
}

func trimmedVolume(v, u float64) string {
	if u > 0 {
		return uncertainty.Value{X: v * 1e3, U: u * 1e3}.String() + " mL"
	}
	return fmt.Sprintf("%.6g mL", v*1e3)
}

func writeIndented(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// calibrate writes what the weighings of a file say.
func (a *app) calibrate(name, format string) error {
	data, err := a.readFile(name, "the weighings")
	if err != nil {
		return err
	}
	w, err := readWare(data, name)
	if err != nil {
		return err
	}
	a.warn(w.warnings)
	if format == "json" {
		return writeIndented(a.out, w.json())
	}
	_, err = io.WriteString(a.out, w.text())
	return err
}

// text is the calibration for people.
func (w *calibratedWare) text() string {
	var s strings.Builder
	if w.title != "" {
		fmt.Fprintf(&s, "%s\n\n", w.title)
	}
	fmt.Fprintf(&s, "%s of %.4g mL, volumes at 20 °C; water at %.4g °C, air %.4g g/L, %s glass\n\n", w.kind, w.capacity.Millilitres(), w.temperature.Celsius(), w.conditions.Air, w.glass)
	fmt.Fprintf(&s, "  %9s  %-20s  %4s  %8s  %9s\n", "marked/mL", "volume/mL", "n", "s/mL", "error/mL")
	for _, p := range w.points {
		fmt.Fprintf(&s, "  %9.4g  %-20s  %4d  %8.2g  %+9.4f\n", p.at.Millilitres(), p.value(), len(p.weighings), p.cal.SD.Millilitres(), p.error())
	}
	s.WriteString("\n± is one standard uncertainty. It is made of, in mL:\n")
	for _, p := range w.points {
		b := p.budget
		fmt.Fprintf(&s, "  at %.4g: scatter %.2g, balance %.2g, temperature %.2g, air %.2g\n", p.at.Millilitres(), b.Repeatability.Millilitres(), b.Balance.Millilitres(), b.Temperature.Millilitres(), b.Air.Millilitres())
	}
	s.WriteString("\n" + w.verdict() + "\n")
	if w.kind == string(volumetric.Burette) {
		s.WriteString("\nfor ware in the file of a chain (± is one standard uncertainty):\n  kind: burette\n")
		fmt.Fprintf(&s, "  capacity: %.4g mL\n  certificate:\n", w.capacity.Millilitres())
		for _, p := range w.points {
			x, u := uncertainty.Round(p.error(), p.budget.Total.U*1e3)
			fmt.Fprintf(&s, "    - {at: %.4g mL, add: %s ± %s mL}\n", p.at.Millilitres(), x, u)
		}
		return s.String()
	}
	fmt.Fprintf(&s, "\nfor ware in the file of a chain (± is one standard uncertainty):\n  kind: %s\n  volume: %.4g mL\n  certificate: %s mL\n", w.kind, w.capacity.Millilitres(), w.points[0].value())
	return s.String()
}

// verdict compares with the limit of the class. Between limit and limit less
// U the measurement does not decide.
func (w *calibratedWare) verdict() string {
	if w.limit.Tolerance == 0 {
		return "no class limit is held for it"
	}
	limit, worst := w.limit.Tolerance.Millilitres(), w.points[0]
	for _, p := range w.points {
		if math.Abs(p.error()) > math.Abs(worst.error()) {
			worst = p
		}
	}
	off := math.Abs(worst.error())
	half, k := worst.budget.Total.Expanded(0.95)
	half *= 1e3
	say := "within"
	switch {
	case off-half > limit:
		say = "outside"
	case off+half > limit:
		say = "not decided to be within or outside"
	}
	return fmt.Sprintf("largest error %+.4f mL, U = %.2g mL (95 %%, k = %.2f): %s ± %.4g mL\n(%s)", worst.error(), half, k, say, limit, w.limit.Note())
}
