// Package font holds the bundled typefaces as TrueType files: a serif for text
// and results, a sans for labels and controls. Both are under the SIL Open
// Font License 1.1; README.md says how they were cut, OFL.txt is the licence
// that has to travel with them.
//
// Figures are lining and tabular. Sub- and superscript digits, Greek, the
// minus sign U+2212 and the arrows ⇌ and → are in every face.
package font

import _ "embed"

// Names of the families as a style sheet or a PDF calls them.
const (
	SansName  = "Meniscus Sans"
	SerifName = "Meniscus Serif"
)

// The faces, each a complete TrueType file. Nobody may change the bytes.
var (
	//go:embed sans.ttf
	Sans []byte
	//go:embed sans-bold.ttf
	SansBold []byte
	//go:embed serif.ttf
	Serif []byte
	//go:embed serif-bold.ttf
	SerifBold []byte
	//go:embed serif-italic.ttf
	SerifItalic []byte
)

// Licence is the text of the licence with the notices of the copyright
// holders.
//
//go:embed OFL.txt
var Licence string
