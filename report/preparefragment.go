package report

import (
	"bytes"
	"fmt"
	"html/template"
)

// PrepareFragment writes what the page of a preparation shows between its title
// and its foot, to stand under an element of class "report" with FragmentStyle.
func PrepareFragment(p *Preparation) (template.HTML, error) {
	sections, err := p.sections()
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := preparePage.ExecuteTemplate(&b, "preparation", pagePrepare{Sections: sections}); err != nil {
		return "", fmt.Errorf("writing the preparation: %w", err)
	}
	return template.HTML(b.String()), nil //nolint:gosec // made by html/template
}
