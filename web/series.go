package web

import (
	"math"
	"strconv"

	"github.com/danielgtaylor/huma/v2"
)

// A series is a column of numbers: nine figures each, null where there is no
// number.
type series []float64

// A coarse column has six figures: of what is shown with three at most, so that
// rounding twice gives what rounding once does but in a case of a thousand.
type coarse []float64

// MarshalJSON writes the column without the work of the general encoder.
func (s series) MarshalJSON() ([]byte, error) { return appendColumn(s, 9), nil }

// MarshalJSON writes the column without the work of the general encoder.
func (s coarse) MarshalJSON() ([]byte, error) { return appendColumn(s, 6), nil }

func appendColumn(column []float64, figures int) []byte {
	b := make([]byte, 0, (figures+3)*len(column)+2)
	b = append(b, '[')
	for i, x := range column {
		if i > 0 {
			b = append(b, ',')
		}
		switch {
		case math.IsNaN(x) || math.IsInf(x, 0):
			b = append(b, "null"...)
		case x == 0:
			b = append(b, '0') // of either sign
		default:
			b = strconv.AppendFloat(b, x, 'g', figures, 64)
		}
	}
	return append(b, ']')
}

// Schema describes the column to readers of the API.
func (series) Schema(huma.Registry) *huma.Schema { return columnSchema() }

// Schema describes the column to readers of the API.
func (coarse) Schema(huma.Registry) *huma.Schema { return columnSchema() }

func columnSchema() *huma.Schema {
	return &huma.Schema{Type: huma.TypeArray, Items: &huma.Schema{Type: huma.TypeNumber, Nullable: true}}
}
