package volumetric

import (
	"math"

	"meniscus/uncertainty"
	"meniscus/unit"
)

// Doubts are standard uncertainties that all weighings of a calibration share.
// Zero fields contribute nothing.
type Doubts struct {
	Balance     unit.Mass // of one difference of full and empty, beyond its repeatability
	Temperature float64   // of the water, K
	Air         float64   // of the density of air, g/L
}

// A CalibrationBudget is what the standard uncertainty of a calibration is
// made of.
type CalibrationBudget struct {
	Repeatability, Balance, Temperature, Air unit.Volume
	Total                                    uncertainty.Value // Repeatability has n-1 degrees of freedom, the others have no limit
}

// Budget returns the uncertainty of a calibration with what its weighings
// share: the balance in proportion, thermometer and air density through the
// weighings worked out again with each of them moved by its uncertainty.
func Budget(weighings []Weighing, conditions Conditions, doubts Doubts) (Calibration, CalibrationBudget, error) {
	cal, err := Calibrate(weighings, conditions)
	if err != nil {
		return Calibration{}, CalibrationBudget{}, err
	}
	b := CalibrationBudget{Repeatability: unit.Volume(cal.Volume.U)}
	total := 0.0
	for _, w := range weighings {
		total += float64(w.Reading)
	}
	b.Balance = unit.Volume(cal.Volume.X * float64(doubts.Balance) / (total / float64(len(weighings))))
	moved := conditions.filled()
	moved.Air += doubts.Air
	if b.Air, err = change(weighings, moved, cal); err != nil {
		return Calibration{}, CalibrationBudget{}, err
	}
	warmer := make([]Weighing, len(weighings))
	for i, w := range weighings {
		step := doubts.Temperature
		if w.Temperature > unit.Celsius(20) {
			step = -step // stays inside the table of water
		}
		warmer[i] = Weighing{w.Reading, w.Temperature + unit.Temperature(step)}
	}
	if b.Temperature, err = change(warmer, conditions, cal); err != nil {
		return Calibration{}, CalibrationBudget{}, err
	}
	us := []float64{float64(b.Repeatability), float64(b.Balance), float64(b.Air), float64(b.Temperature)}
	b.Total = uncertainty.Value{X: cal.Volume.X, DoF: uncertainty.Welch(us, []float64{cal.Volume.DoF, math.Inf(1), math.Inf(1), math.Inf(1)})}
	for _, u := range us {
		b.Total.U = math.Hypot(b.Total.U, u)
	}
	return cal, b, nil
}

func change(weighings []Weighing, c Conditions, from Calibration) (unit.Volume, error) {
	x, err := Calibrate(weighings, c)
	if err != nil {
		return 0, err
	}
	return unit.Volume(math.Abs(x.Volume.X - from.Volume.X)), nil
}
