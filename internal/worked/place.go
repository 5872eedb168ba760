package worked

import (
	"fmt"
	"regexp"
)

// A Place is the point of a curve that an Expected quantity belongs to.
type Place struct {
	What      string // "E", "pH", "pCl", "[Cd2+]", ...
	Reference string // "SHE", "SCE"; empty where the quantity needs none
	VolumeML  string // titrant added, millilitres, the decimal text as printed
}

var places = []*regexp.Regexp{
	regexp.MustCompile(`^(\S+)(?: vs (\S+))? at V=([0-9.]+)(?: mL)?(?: \(.*\))?$`),
	regexp.MustCompile(`^(\S+)(?: vs (\S+))? at ([0-9.]+) mL(?: \(.*\))?$`),
}

// ParsePlace reads quantities such as "E vs SHE at V=5.0 mL", "pCl at V=0" and
// "[Ag+] at 35.0 mL". Any other quantity is an error.
func ParsePlace(quantity string) (Place, error) {
	for _, p := range places {
		if m := p.FindStringSubmatch(quantity); m != nil {
			return Place{What: m[1], Reference: m[2], VolumeML: m[3]}, nil
		}
	}
	return Place{}, fmt.Errorf("%q names no volume of titrant", quantity)
}
