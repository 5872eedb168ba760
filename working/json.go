package working

import (
	"encoding/json"
	"fmt"
	"io"
)

type documentJSON struct {
	Schema   string        `json:"schema"`
	Title    string        `json:"title"`
	Lead     string        `json:"lead"`
	Sections []sectionJSON `json:"sections"`
}

type sectionJSON struct {
	Kind   Kind        `json:"kind,omitempty"`
	Title  string      `json:"title"`
	Blocks []blockJSON `json:"blocks"`
}

type blockJSON struct {
	Kind        string       `json:"kind"`
	Text        string       `json:"text,omitempty"`
	Symbol      string       `json:"symbol,omitempty"`
	Formula     string       `json:"formula,omitempty"`
	Filled      string       `json:"filled,omitempty"`
	Value       *float64     `json:"value,omitempty"`
	Unit        string       `json:"unit,omitempty"`
	Shown       string       `json:"shown,omitempty"`
	Approximate bool         `json:"approximate,omitempty"`
	Note        string       `json:"note,omitempty"`
	Equation    string       `json:"equation,omitempty"`
	Head        []string     `json:"head,omitempty"`
	Rows        [][]string   `json:"rows,omitempty"`
	Items       []string     `json:"items,omitempty"`
	Symbols     []symbolJSON `json:"symbols,omitempty"`
}

type symbolJSON struct {
	Symbol  string `json:"symbol"`
	Meaning string `json:"meaning"`
	Unit    string `json:"unit"`
}

// WriteJSON writes the document with its equations as plain text and its
// results as numbers in the units named beside them.
func WriteJSON(w io.Writer, d *Document) error {
	out := documentJSON{Schema: "meniscus.working/1", Title: d.Title, Lead: inlineText(d.Lead), Sections: []sectionJSON{}}
	for _, s := range d.Sections {
		section := sectionJSON{Kind: s.Kind, Title: s.Title, Blocks: []blockJSON{}}
		for _, b := range s.Blocks {
			section.Blocks = append(section.Blocks, jsonBlock(b))
		}
		out.Sections = append(out.Sections, section)
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(out); err != nil {
		return fmt.Errorf("writing the working as JSON: %w", err)
	}
	return nil
}

func jsonBlock(b Block) blockJSON {
	switch b := b.(type) {
	case Paragraph:
		return blockJSON{Kind: "paragraph", Text: inlineText(b)}
	case Caution:
		return blockJSON{Kind: "caution", Text: inlineText(Paragraph(b))}
	case List:
		return blockJSON{Kind: "list", Items: cells(b)}
	case Display:
		return blockJSON{Kind: "equation", Text: inlineText(b.Say), Equation: textExpr(b.Expr)}
	case Reaction:
		return blockJSON{Kind: "reaction", Text: inlineText(b.Say), Equation: b.Equation}
	case Table:
		out := blockJSON{Kind: "table", Text: inlineText(b.Caption), Head: cells(b.Head)}
		for _, r := range b.Rows {
			out.Rows = append(out.Rows, cells(r))
		}
		return out
	case Definitions:
		out := blockJSON{Kind: "definitions"}
		for _, s := range b {
			out.Symbols = append(out.Symbols, symbolJSON{s.Key(), inlineText(P(s.Meaning)), unitText(s.Value.Unit)})
		}
		return out
	case Step:
		return jsonStep(b)
	}
	return blockJSON{Kind: "unknown"}
}

func jsonStep(s Step) blockJSON {
	v := s.Quantity.Value
	out := blockJSON{
		Kind: "step", Text: inlineText(s.Say), Symbol: s.Quantity.Key(), Value: &v.Value, Unit: unitText(v.Unit),
		Shown: v.String(), Approximate: s.Approximate, Note: inlineText(s.Note),
	}
	if s.Formula != nil {
		out.Formula, out.Filled = textExpr(s.Formula), textExpr(Fill(s.Formula))
	}
	return out
}
