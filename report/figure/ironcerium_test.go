package figure

import "math"

// ironCerium is a curve with everything that a figure can show. The potentials
// are the closed form of iron(II) with cerium(IV) in sulfuric acid, 0.68 V and
// 1.44 V (Harris' values), against 0.241 V: with the ratio r = [Fe3+]/[Fe2+]
// and the constant K of the reaction, [Ce3+]/[Ce4+] = K/r, and as much iron(III)
// has formed as cerium(III).
func ironCerium() Curve {
	c := Curve{
		Title:         Plain("Iron(II) in a moss-control granule, with cerium(IV)"),
		XLabel:        []Run{{Text: "volume of Ce"}, {Text: "4+", Shift: Sup}, {Text: " added / mL"}},
		YLabel:        Plain("potential against SCE / mV"),
		ModelLabel:    Plain("fitted curve"),
		ResidualLabel: Plain("reading − fit / mV"),
	}
	for i, v := range ironVolumes {
		noise := 0.8 * math.Sin(7*float64(i)) // any pattern will do
		if i == 9 {
			noise = 62
		}
		c.Volume = append(c.Volume, v)
		c.Value = append(c.Value, ironPotential(v)+noise)
		c.Residual = append(c.Residual, noise)
		c.LeftOut = append(c.LeftOut, i == 9)
	}
	for v := 0.1; v <= 50; v += 0.05 {
		c.ModelVolume = append(c.ModelVolume, v)
		c.ModelValue = append(c.ModelValue, ironPotential(v))
	}
	c.Landmarks = []Landmark{
		{Label: Plain("half"), Volume: 12.425},
		{Label: Plain("equivalence"), Volume: 24.851, U: 0.012, Main: true},
		{Label: Plain("twice"), Volume: 49.702},
	}
	c.Methods = []Landmark{
		{Label: Plain("second derivative"), Volume: 24.83, U: 0.03},
		{Label: Plain("Gran, before"), Volume: 24.79, U: 0.05},
		{Label: Plain("steepest interval"), Volume: 24.875, U: 0.014},
	}
	c.Band = []Swatch{
		{0, 24.851, RGB{232, 236, 226}, "nearly colourless"},
		{24.851, 50, RGB{240, 205, 90}, "yellow"},
	}
	return c
}

var ironVolumes = []float64{
	0.5, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 21, 22, 23, 23.5, 24, 24.2, 24.4, 24.5, 24.6,
	24.7, 24.75, 24.8, 24.85, 24.9, 24.95, 25, 25.1, 25.2, 25.4, 25.6, 26, 27, 28, 30, 33, 36, 40, 45, 50,
}

// ironPotential returns mV after v mL of 0.0503 mol/L on 1.25 mmol of iron.
func ironPotential(v float64) float64 {
	const iron, slope = 1.25, 59.16
	cerium := v * 0.0503
	k := math.Pow(10, (1440-680)/slope)
	low, high := -40.0, 40.0 // ln r
	for range 100 {
		mid := (low + high) / 2
		r := math.Exp(mid)
		if iron*r/(1+r) > cerium*(k/r)/(1+k/r) {
			high = mid
		} else {
			low = mid
		}
	}
	return 680 + slope/math.Ln10*low - 241
}

// silver is a falling curve without a model.
func silver() Curve {
	c := Curve{
		YLabel:    Plain("pAg"),
		XLabel:    Plain("volume of AgNO₃ added / mL"),
		Landmarks: []Landmark{{Label: Plain("equivalence"), Volume: 18.2, U: 0.4, Main: true}, {Label: Plain("half"), Volume: 9.1}},
		Methods:   []Landmark{{Label: Plain("second derivative"), Volume: 18.3}},
	}
	for v := 1.0; v <= 36; v++ {
		excess := (v - 18.2) * 0.1 / (50 + v)
		c.Volume = append(c.Volume, v)
		c.Value = append(c.Value, -math.Log10((excess+math.Sqrt(excess*excess+4*1.8e-10))/2))
	}
	return c
}
