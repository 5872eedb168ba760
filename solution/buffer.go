package solution

import (
	"fmt"
	"math"

	"meniscus/constants"
	"meniscus/unit"
)

// A Buffer is how to hold a pH: two bottles in one solution, which is checked
// and set with a pH meter.
type Buffer struct {
	PH, PK       float64
	Acid, Base   string // species
	Recipe       Recipe
	Neighbouring bool // the pK is more than 1 from the pH: it holds badly
}

// bufferTotal is the concentration of both forms together, mol/L.
const bufferTotal = 1.0

// bufferPairs are pairs whose two bottles are in the table of reagents.
var bufferPairs = []struct{ acid, base, acidBottle, baseBottle string }{
	{"CH3COOH", "CH3COO^-", "CH3COOH", "CH3COONa·3H2O"},
	{"H2PO4^-", "HPO4^2-", "KH2PO4", "Na2HPO4·2H2O"},
	{"NH4^+", "NH3", "NH4Cl", "NH3"},
}

// BufferFor returns a buffer for a pH by the pair whose pK at 25 °C is nearest.
// Carbonate is not among them, as pH is held for metals, which it throws down.
// Below pH 2 and above 12 strong acid or alkali hold the pH by themselves.
func BufferFor(pH float64, volume unit.Volume) (Buffer, error) {
	rows, err := constants.Acids()
	if err != nil {
		return Buffer{}, err
	}
	best := Buffer{PH: pH, PK: math.Inf(1)}
	var bottles [2]string
	for _, p := range bufferPairs {
		for _, r := range rows {
			if r.Also != "" || r.Reaction.Coefficient(p.acid).Sign() >= 0 || r.Reaction.Coefficient(p.base).Sign() <= 0 {
				continue
			}
			if math.Abs(r.Value-pH) < math.Abs(best.PK-pH) {
				best.PK, best.Acid, best.Base = r.Value, p.acid, p.base
				bottles = [2]string{p.acidBottle, p.baseBottle}
			}
		}
	}
	if pH < 2 || pH > 12 || math.IsInf(best.PK, 0) {
		return Buffer{}, fmt.Errorf("pH %g: no buffer of the table holds it; strong acid or alkali of that concentration does", pH)
	}
	best.Neighbouring = math.Abs(best.PK-pH) > 1
	part := 1 / (1 + math.Pow(10, best.PK-pH))
	best.Recipe, err = Make(Wanted{Volume: volume, Solutes: []Solute{
		{Name: best.Acid, Conc: unit.Concentration(bufferTotal * (1 - part)), From: bottles[0]},
		{Name: best.Base, Conc: unit.Concentration(bufferTotal * part), From: bottles[1]},
	}})
	best.Recipe.Against = nil
	best.Recipe.Notes = append(best.Recipe.Notes,
		fmt.Sprintf("by pH = pK + lg([base]/[acid]) with pK %.2f at 25 °C and no ionic strength: set it with a calibrated pH meter", best.PK))
	if best.Acid == "H2PO4^-" {
		best.Recipe.Notes = append(best.Recipe.Notes, "phosphate throws down many metals, and takes part in the chemistry of others")
	}
	return best, err
}
