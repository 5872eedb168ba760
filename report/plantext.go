package report

import (
	"fmt"
	"io"

	"meniscus/plan"
)

// planText writes a plan for a terminal.
func planText(w io.Writer, p *plan.Plan) error {
	t := &typist{}
	if title := clean(p.Setup.Title); title != "" {
		t.paragraph(0, 0, title)
	}
	for _, s := range planSections {
		b := s.body(p)
		if len(b.Say)+len(b.Tables)+len(b.Items) == 0 {
			continue
		}
		t.heading(s.heading)
		for _, x := range b.Say {
			t.paragraph(2, 4, typeset(x))
		}
		for _, x := range b.Tables {
			t.table(typesetRows(x.Rows), x.Align)
		}
		t.items(b.Items)
	}
	t.line("")
	t.paragraph(0, 0, planClosing)
	if _, err := io.WriteString(w, t.String()); err != nil {
		return fmt.Errorf("writing the plan as text: %w", err)
	}
	return nil
}

func typesetRows(rows [][]string) [][]string {
	out := make([][]string, len(rows))
	for i, r := range rows {
		for _, c := range r {
			out[i] = append(out[i], typeset(c))
		}
	}
	return out
}
