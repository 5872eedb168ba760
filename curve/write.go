package curve

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// WriteCSV writes the readings of a curve so that Read gives them back bit for
// bit, row numbers aside: volume_mL, then potential_mV, pH or pIon, then
// time_s, temperature_K and excluded where any reading has them. The name of
// the curve goes into a comment. A reading that is not finite is an error.
func WriteCSV(w io.Writer, c Curve) error {
	buf := bufio.NewWriter(w)
	out := csv.NewWriter(buf)
	if err := writeRows(buf, out, &c); err != nil {
		return fmt.Errorf("writing readings: %w", err)
	}
	out.Flush()
	if err := errors.Join(out.Error(), buf.Flush()); err != nil {
		return fmt.Errorf("writing readings: %w", err)
	}
	return nil
}

func writeRows(buf *bufio.Writer, out *csv.Writer, c *Curve) error {
	if name := oneLine(c.Name); name != "" {
		if _, err := fmt.Fprintf(buf, "# run: %s\n", name); err != nil {
			return err
		}
	}
	timed, warm, left := optionalColumns(c)
	value := map[Kind]string{Potential: "potential_mV", PH: "pH", PIon: "pIon"}[c.Kind]
	row := keep(timed, warm, left, "volume_mL", value, "time_s", "temperature_K", "excluded")
	if err := out.Write(row); err != nil {
		return err
	}
	for i := range c.Readings {
		r := &c.Readings[i]
		if !finite(float64(r.Volume)) || !finite(r.Value) || math.IsInf(r.Time, 0) || !finite(float64(r.Temperature)) {
			return fmt.Errorf("reading %d is not finite: volume %v, value %v", i+1, r.Volume, r.Value)
		}
		row := keep(timed, warm, left, volumeText(r), valueText(r, c.Kind),
			optionalText(r.Time, math.IsNaN(r.Time)), optionalText(float64(r.Temperature), r.Temperature == 0), reasonText(r.Excluded))
		if err := out.Write(row); err != nil {
			return err
		}
	}
	return nil
}

// keep drops the cells of the optional columns that are not written.
func keep(timed, warm, left bool, cells ...string) []string {
	row := cells[:2:2]
	for i, has := range []bool{timed, warm, left} {
		if has {
			row = append(row, cells[2+i])
		}
	}
	return row
}

// optionalColumns says which of time, temperature and excluded any reading has.
func optionalColumns(c *Curve) (timed, warm, left bool) {
	for i := range c.Readings {
		r := &c.Readings[i]
		timed = timed || !math.IsNaN(r.Time)
		warm = warm || r.Temperature != 0
		left = left || r.Excluded != ""
	}
	return timed, warm, left
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// volumeText writes a volume in millilitres with every digit.
func volumeText(r *Reading) string {
	if r.VolumeText != "" {
		return r.VolumeText
	}
	return shiftText(float64(r.Volume), 3)
}

func valueText(r *Reading, k Kind) string {
	if k == Potential {
		return shiftText(r.Value, 3)
	}
	return shiftText(r.Value, 0)
}

func optionalText(x float64, absent bool) string {
	if absent {
		return ""
	}
	return shiftText(x, 0)
}

// reasonText is a reason on one line; one of blanks only still excludes.
func reasonText(s string) string {
	if t := oneLine(s); t != "" || s == "" {
		return t
	}
	return "excluded"
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// shiftText writes the shortest decimal of f times ten to the shift: the point
// is moved in the text, so nothing is rounded. It is plain for exponents that a
// person writes out.
func shiftText(f float64, shift int) string {
	text := strconv.FormatFloat(f, 'e', -1, 64)
	mant, expText, ok := strings.Cut(text, "e")
	if !ok {
		return text // not finite
	}
	exp, err := strconv.Atoi(expText)
	if err != nil {
		return text
	}
	exp += shift
	sign := ""
	if mant[0] == '-' {
		sign, mant = "-", mant[1:]
	}
	digits := strings.Replace(mant, ".", "", 1)
	switch {
	case f == 0:
		return sign + "0"
	case exp < -6 || exp > 17:
		return sign + mant + "e" + strconv.Itoa(exp)
	case exp < 0:
		return sign + "0." + strings.Repeat("0", -exp-1) + digits
	case exp+1 >= len(digits):
		return sign + digits + strings.Repeat("0", exp+1-len(digits))
	}
	return sign + digits[:exp+1] + "." + digits[exp+1:]
}
