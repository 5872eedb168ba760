package web

import (
	"math"
	"strconv"

	"github.com/danielgtaylor/huma/v2"
)

// A series is a column of numbers for drawing: seven figures each, null where
// there is no number.
type series []float64

// MarshalJSON writes the column without the work of the general encoder.
func (s series) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 10*len(s)+2)
	b = append(b, '[')
	for i, x := range s {
		if i > 0 {
			b = append(b, ',')
		}
		switch {
		case math.IsNaN(x) || math.IsInf(x, 0):
			b = append(b, "null"...)
		case x != 0 && math.Abs(x) < 1e-3:
			b = strconv.AppendFloat(b, x, 'e', 3, 64)
		default:
			b = strconv.AppendFloat(b, x, 'g', 9, 64)
		}
	}
	return append(b, ']'), nil
}

// Schema describes the column to readers of the API.
func (series) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeArray, Items: &huma.Schema{Type: huma.TypeNumber, Nullable: true}}
}
