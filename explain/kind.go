package explain

import (
	"slices"

	"meniscus/working"
)

// The kinds of sections in the documents of this package. They are written
// into JSON: add at will, never rename.
const (
	Given           working.Kind = "given"         // what stands in flask and burette, and the reactions
	Settled         working.Kind = "settled"       // what reacts in the flask before the first drop
	Start           working.Kind = "start"         // before the first drop
	Half            working.Kind = "half"          // at half the first equivalence volume
	Equivalence     working.Kind = "equivalence"   // at an equivalence point
	Twice           working.Kind = "twice"         // at twice the last equivalence volume
	Volume          working.Kind = "volume"        // at any other volume
	FormalPotential working.Kind = "formal"        // how a potential is read from the curve
	Completeness    working.Kind = "completeness"  // how far the reaction runs
	Steepest        working.Kind = "steepest"      // where the curve is steepest
	Carbonate       working.Kind = "carbonate"     // what carbon dioxide does to an alkali
	Conversions     working.Kind = "conversions"   // from one reference electrode to others
	Choice          working.Kind = "choice"        // which method is recommended
	Method          working.Kind = "method"        // how one method gets its end point
	Concentration   working.Kind = "concentration" // from a volume to a concentration
	ContentOf       working.Kind = "content"       // from an amount to what is reported
	Cautions        working.Kind = "cautions"
)

// special are the kinds of the special points, in the order of the curve.
var special = []working.Kind{Start, Half, Equivalence, Twice}

// PlaceNames lists the names of the special points.
func PlaceNames() []string {
	var list []string
	for _, k := range special {
		list = append(list, string(k))
	}
	return list
}

// AtVolume says whether sections of this kind work out one volume.
func AtVolume(k working.Kind) bool { return k == Volume || slices.Contains(special, k) }

// kind is the kind of the sections about a place.
func (p Place) kind() working.Kind {
	if k := working.Kind(p.Name); slices.Contains(special, k) {
		return k
	}
	return Volume
}
