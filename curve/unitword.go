package curve

import "strings"

// A quantity says what a column holds. The text is what Column.Quantity shows.
type quantity string

const (
	qNone        quantity = ""
	qVolume      quantity = "volume"
	qPotential   quantity = "potential"
	qPH          quantity = "pH"
	qPIon        quantity = "pIon"
	qTime        quantity = "time"
	qTemperature quantity = "temperature"
	qRun         quantity = "run"
	qExcluded    quantity = "excluded"
	qValue       quantity = "value"  // asked for by Options.Value; which kind shows in the numbers
	qSymbolV     quantity = "V"      // volume or voltage: the other columns decide
	qIgnored     quantity = "no use" // a derivative, a difference, a mean
)

// isValue reports the quantities of a Reading's Value.
func (q quantity) isValue() bool {
	return q == qPotential || q == qPH || q == qPIon || q == qValue
}

// kind is the Kind of a value; qValue is settled when all numbers are known.
func (q quantity) kind() Kind {
	switch q {
	case qPH:
		return PH
	case qPIon:
		return PIon
	default:
		return Potential
	}
}

// A unitDef is one unit of the header words.
type unitDef struct {
	name     string
	of       quantity
	shift    int     // power of ten to the unit of package unit, where that is all
	factor   float64 // seconds in the unit, for time
	clock    string  // "hms", "ms" or "hm" for clock notation
	spelling string  // accepted spellings, lower case, parted by blanks; _ is a blank inside one
}

// units are all units that a header can name.
var units = []unitDef{
	{name: "L", of: qVolume, shift: 0, spelling: "l liter litre liters litres lt dm3 dm³ dm^3"},
	{name: "dL", of: qVolume, shift: -1, spelling: "dl"},
	{name: "cL", of: qVolume, shift: -2, spelling: "cl"},
	{name: "mL", of: qVolume, shift: -3, spelling: "ml milliliter millilitre milliliters millilitres mililitros cm3 cm³ cm^3 ccm cc"},
	{name: "µL", of: qVolume, shift: -6, spelling: "µl μl ul microliter microlitre microliters microlitres mm3 mm³ mm^3"},
	{name: "V", of: qPotential, shift: 0, spelling: "v volt volts voltios"},
	{name: "mV", of: qPotential, shift: -3, spelling: "mv millivolt millivolts milivoltios"},
	{name: "µV", of: qPotential, shift: -6, spelling: "µv μv uv microvolt microvolts"},
	{name: "s", of: qTime, factor: 1, spelling: "s sec secs second seconds sek sekunden seconde secondes segundo segundos seg"},
	{name: "min", of: qTime, factor: 60, spelling: "min mins minute minutes minuten minuto minutos"},
	{name: "h", of: qTime, factor: 3600, spelling: "h hr hrs hour hours std stunden heure heures hora horas"},
	{name: "ms", of: qTime, factor: 1e-3, spelling: "ms msec millisecond milliseconds"},
	{name: "day", of: qTime, factor: 86400, spelling: "d day days tag tage jour jours"},
	{name: "hh:mm:ss", of: qTime, clock: "hms", spelling: "hh:mm:ss h:mm:ss h:m:s hms hh:mm:ss.0"},
	{name: "mm:ss", of: qTime, clock: "ms", spelling: "mm:ss m:ss m:s min:s min:sec"},
	{name: "hh:mm", of: qTime, clock: "hm", spelling: "hh:mm h:mm h:m h:min"},
	{name: "°C", of: qTemperature, spelling: "°c ºc c degc deg_c ℃ celsius grad_c grad_celsius degrees_c"},
	{name: "K", of: qTemperature, spelling: "k kelvin"},
	{name: "", of: qPH, spelling: "ph 1 - – pH_units ph_units"},
	{name: "", of: qPIon, spelling: "pion pion_units"},
}

// accepted lists what a header can say for q, for messages.
func accepted(q quantity) string {
	var names []string
	for i := range units {
		if u := &units[i]; u.of == q && u.name != "" {
			names = append(names, u.name)
		}
	}
	if len(names) == 0 {
		return "no unit"
	}
	if q == qVolume {
		names = append(names, "cm3", "dm3")
	}
	return strings.Join(names, ", ")
}

// lookupUnit finds a unit by any of its spellings. Capitals do not matter: a
// meter writes ML or MV and means millilitre and millivolt.
func lookupUnit(s string) (*unitDef, bool) {
	s = strings.ReplaceAll(strings.ToLower(trim(s)), " ", "_")
	if s == "" {
		return nil, false
	}
	for i := range units {
		for w := range strings.FieldsSeq(units[i].spelling) {
			if w == s {
				return &units[i], true
			}
		}
	}
	return nil, false
}

// unitFor finds a unit among those of one quantity; the symbol V takes volumes
// and potentials.
func unitFor(q quantity, s string) (*unitDef, bool) {
	u, ok := lookupUnit(s)
	if !ok {
		return nil, false
	}
	switch {
	case q == u.of, q == qNone,
		q == qSymbolV && (u.of == qVolume || u.of == qPotential),
		q == qPIon && u.of == qPH:
		return u, true
	}
	return nil, false
}
