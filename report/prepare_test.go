package report

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"meniscus/solution"
	"meniscus/unit"
)

func made(t *testing.T, medium string, solutes ...solution.Solute) Prepared {
	t.Helper()
	r, err := solution.Make(solution.Wanted{Solutes: solutes, Medium: medium, Volume: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	return Prepared{Recipe: r}
}

// Every format names the bottle, typesets its formula where people read it, and
// ends with who decides.
func TestPrepareFormatsHaveCautions(t *testing.T) {
	p := &Preparation{Title: "<b>one</b>", Solutions: []Prepared{made(t, "1 mol/L H2SO4", solution.Solute{Name: "Fe^2+", Conc: 0.1})}}
	for _, f := range PrepareFormats {
		var b bytes.Buffer
		if err := f.Write(&b, p); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(b.String()), " ")
		for _, want := range []string{"Fe(NH₄)₂(SO₄)₂·6H₂O", "safety data sheet", "into water"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s does not say %q", f.Name, want)
			}
		}
		if f.Name == "html" && strings.Contains(text, "<b>one") {
			t.Error("the title went into the page as it is")
		}
	}
}

func TestLabels(t *testing.T) {
	p := &Preparation{Solutions: []Prepared{
		made(t, "1 mol/L H2SO4", solution.Solute{Name: "Ce^4+", Conc: 0.1}), made(t, "", solution.Solute{Name: "K2Cr2O7", Conc: 0.01}),
	}}
	var err error
	w := solution.Weighed{Mass: 1.4709, MolarMass: p.Solutions[1].Recipe.Portions[0].MolarMass, PerUnit: 1, Volume: 500 * unit.Millilitre}
	if p.Solutions[1].Exact, err = w.Concentration(); err != nil {
		t.Fatal(err)
	}
	list := p.Labels(time.Date(2026, 11, 28, 0, 0, 0, 0, time.UTC), "A7")
	if l := list[0]; l.Name != "0.1 mol/L Ce⁴⁺" || l.Medium != "1 mol/L H₂SO₄" || l.Expires != "2027-05-27" || l.Signal != "DANGER" { // 180 days
		t.Errorf("%+v", l)
	}
	// 1.4709 g / 294.18 g/mol / 0.5 L
	if l := list[1]; !strings.HasPrefix(l.Conc, "0.01000") || !strings.HasSuffix(l.Conc, "(k = 2)") || l.Expires != "" || !strings.Contains(l.Hazards, "cancer") {
		t.Errorf("%+v", l)
	}
	var lines []string
	for _, row := range list[0].Lines() {
		lines = append(lines, row[0])
	}
	if got := strings.Join(lines, " "); got != "exact in made expires lot initials" {
		t.Errorf("lines %s", got)
	}
	if open := p.Labels(time.Time{}, "")[0]; open.Made != "" || open.Expires != "" {
		t.Errorf("dates without a date: %+v", open)
	}
}

// Nine labels need a second sheet, and the same labels give the same file.
func TestLabelSheets(t *testing.T) {
	var p Preparation
	for range 9 {
		p.Solutions = append(p.Solutions, made(t, "", solution.Solute{Name: "K2Cr2O7", Conc: 0.01}))
	}
	list := p.Labels(time.Time{}, "")
	var files [2]bytes.Buffer
	for i := range files {
		write, ok := FindLabelWriter("sheet.PDF")
		if !ok {
			t.Fatal("no writer for PDF")
		}
		if err := write(&files[i], list); err != nil {
			t.Fatal(err)
		}
	}
	if n := bytes.Count(files[0].Bytes(), []byte("/Type /Page\n")); n != 2 {
		t.Errorf("%d pages, want 2", n)
	}
	if !bytes.Equal(files[0].Bytes(), files[1].Bytes()) {
		t.Error("two files of the same labels differ")
	}
	var page bytes.Buffer
	if err := labelsHTML(&page, list); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(page.String(), "<article>"); n != 9 {
		t.Errorf("%d labels on the page", n)
	}
	if _, ok := FindLabelWriter("sheet.doc"); ok {
		t.Error("a writer for .doc")
	}
}
