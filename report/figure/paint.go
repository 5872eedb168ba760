package figure

import (
	"fmt"
	"strings"
)

// A Role says what a stroke or fill is for; a [Theme] gives it a colour.
type Role uint8

// The roles. The zero role paints nothing.
const (
	Nothing Role = iota
	Ink          // readings, axes, text
	Muted        // secondary text, graduations
	Faint        // hairlines that only guide the eye; never carries meaning
	Accent       // the model curve
	Warn         // doubts
	Error        // errors
	Paper        // the ground
	roleCount
)

// roleNames are used in class names.
var roleNames = [roleCount]string{"nothing", "ink", "muted", "faint", "accent", "warn", "error", "paper"}

func (r Role) String() string {
	if r < roleCount {
		return roleNames[r]
	}
	return fmt.Sprintf("Role(%d)", uint8(r))
}

// An RGB is an opaque colour of eight bits a channel (sRGB).
type RGB struct{ R, G, B uint8 }

// Hex returns the colour as "#rrggbb".
func (c RGB) Hex() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// A Paint is a role or, where the thing drawn has a colour of its own (a
// solution), that colour. The zero Paint draws nothing.
type Paint struct {
	Role  Role
	Own   RGB
	IsOwn bool
}

// colour resolves the paint; the second result is false for nothing.
func (p Paint) colour(t Theme) (RGB, bool) {
	switch {
	case p.IsOwn:
		return p.Own, true
	case p.Role == Nothing || p.Role >= roleCount:
		return RGB{}, false
	}
	return t.palette()[p.Role], true
}

// A Theme resolves roles to colours.
type Theme uint8

// The themes.
const (
	Light Theme = iota // ink on warm paper, for screens
	Dark               // the same turned round
	Print              // black on white
)

func (t Theme) palette() *[roleCount]RGB {
	if int(t) >= len(palettes) {
		return &palettes[Light]
	}
	return &palettes[t]
}

// Every text role has a contrast of at least 4.5 to 1 against Paper, which a
// test computes; Faint is decoration and has less.
var palettes = [...][roleCount]RGB{
	Light: {
		Ink: {0x22, 0x26, 0x2b}, Muted: {0x5d, 0x64, 0x6c}, Faint: {0xe3, 0xdf, 0xd5},
		Accent: {0x1c, 0x6a, 0x87}, Warn: {0x93, 0x55, 0x06}, Error: {0xb0, 0x26, 0x1c}, Paper: {0xfd, 0xfc, 0xf8},
	},
	Dark: {
		Ink: {0xe9, 0xe5, 0xdb}, Muted: {0xa6, 0xab, 0xb1}, Faint: {0x35, 0x3a, 0x41},
		Accent: {0x84, 0xbf, 0xd6}, Warn: {0xe0, 0xb0, 0x67}, Error: {0xf2, 0x9a, 0x90}, Paper: {0x17, 0x1a, 0x1e},
	},
	Print: {
		Ink: {0x11, 0x11, 0x11}, Muted: {0x52, 0x52, 0x52}, Faint: {0xdc, 0xdc, 0xdc},
		Accent: {0x14, 0x5c, 0x78}, Warn: {0x86, 0x4c, 0x00}, Error: {0xa8, 0x1e, 0x14}, Paper: {0xff, 0xff, 0xff},
	},
}

// Colour returns the colour that the theme gives to the role; black for
// [Nothing].
func (t Theme) Colour(r Role) RGB {
	c, _ := Paint{Role: r}.colour(t)
	return c
}

// Stylesheet returns the rules that let a page theme figures written with
// [SVGOptions].Prefix: each role is a custom property (--fig-ink for the prefix
// "fig-") with the light colour as its value, and the dark one where the
// reader prefers dark or a parent has data-theme="dark".
func Stylesheet(prefix string) string {
	var b strings.Builder
	properties := func(selector string, t Theme) {
		fmt.Fprintf(&b, "%s{", selector)
		for r := Ink; r < roleCount; r++ {
			fmt.Fprintf(&b, "--%s%s:%s;", prefix, r, t.Colour(r).Hex())
		}
		b.WriteString("}\n")
	}
	properties(":root", Light)
	b.WriteString("@media (prefers-color-scheme:dark){")
	properties(":root:not([data-theme=\"light\"])", Dark)
	b.WriteString("}\n")
	properties("[data-theme=\"dark\"]", Dark)
	b.WriteString("@media print{")
	properties(":root:root:root", Print)
	b.WriteString("}\n")
	for r := Ink; r < roleCount; r++ {
		fmt.Fprintf(&b, ".%[1]ss-%[2]s{stroke:var(--%[1]s%[2]s)}\n.%[1]sf-%[2]s{fill:var(--%[1]s%[2]s)}\n", prefix, r)
	}
	return b.String()
}
