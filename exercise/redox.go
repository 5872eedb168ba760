package exercise

import (
	"fmt"
	"math"
	"strings"

	"meniscus/electrode"
	"meniscus/explain"
	"meniscus/plan"
	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

// room is the temperature of a sheet.
const room = unit.Temperature(298.15)

// slope is the Nernst slope for one electron at 25 °C.
func slope() working.Symbol {
	return symbol("S", "", "", "the Nernst slope for one electron, RT ln 10 / F, at 25 °C").
		With(working.Decimals(6).Number(float64(electrode.NernstSlope(1, room)), "V"))
}

// potentials: the curve of iron(II) with cerium(IV) at four volumes.
func potentials(m *maker) {
	end := m.draw(30, 45, 0, 1)
	flask := pick(m, 20.0, 25, 40, 50)
	iron := m.given("c(Fe^2+)", 0.1*end/flask, 4, "mol/L")
	titrant := m.given("c(Ce^4+)", 0.1, 4, "mol/L")
	v0 := m.given("V0", flask, 2, "mL")
	fe, ce := m.given("E(Fe)", m.draw(0.67, 0.70, 2, 1), 2, "V"), m.given("E(Ce)", m.draw(1.42, 1.46, 2, 1), 2, "V")
	ref := m.given("E_ref", 0.241, 3, "V")
	part := pick(m, 0.1, 0.2, 0.3, 0.4)
	volumes := []working.Number{
		m.given("V1", part*end, 2, "mL"), m.given("V2", end/2, 2, "mL"), m.given("V3", end, 2, "mL"), m.given("V4", 2*end, 2, "mL"),
	}
	m.ask("@ of @ iron(II) in 1 mol/L {H2SO4} is titrated with @ cerium(IV). Its formal potentials are @ for {Fe^3+}/{Fe^2+} and @ for {Ce^4+}/{Ce^3+}, and the saturated calomel electrode stands at @ against the standard hydrogen electrode.", v0, iron, titrant, fe, ce, ref)
	m.ask("What does the meter read against the calomel electrode after @, @, @ and @ of titrant?", volumes[0], volumes[1], volumes[2], volumes[3])
	m.handles("Ce(SO4)2", "H2SO4")
	text := fmt.Sprintf(`find: Fe^2+
flask: {volume: %s mL, contains: {Fe^2+: %s mol/L}}
burette: {contains: {Ce^4+: %s mol/L}}
electrode: {indicator: platinum, reference: %s V}
library: off
chemistry:
  - {reaction: Fe^3+ + e^- = Fe^2+, formal potential: %s V, medium: 1 mol/L H2SO4}
  - {reaction: Ce^4+ + e^- = Ce^3+, formal potential: %s V, medium: 1 mol/L H2SO4}
`, v0.Text, iron.Text, titrant.Text, ref.Text, fe.Text, ce.Text)
	m.tell("At equivalence as much cerium(IV) was added as there was iron(II); the volume that takes stands below, and then each of the four.")
	m.worked(text, volumes)
}

// worked adds the working of explain at these volumes, and what the meter reads
// there as answers.
func (m *maker) worked(text string, volumes []working.Number) {
	s, err := setup.Read([]byte(text), "setup")
	if err != nil {
		m.fail(err)
		return
	}
	pred := s.Titration.Predictor()
	var places []explain.Place
	for _, v := range volumes {
		d, err := unit.ParseDecimal(v.Text)
		if err != nil {
			m.fail(err)
			return
		}
		places = append(places, explain.Place{Volume: d.Shift(-3)})
		pt, err := pred.At(d.Shift(-3))
		if err != nil {
			m.fail(err)
			return
		}
		m.e.Answers = append(m.e.Answers, Value{"meter at " + v.String(), working.Decimals(4).Number(pt.Potential, "V")})
	}
	doc, err := explain.Volumes(s, places)
	if err != nil {
		m.fail(err)
		return
	}
	for _, section := range doc.Sections {
		if explain.AtVolume(section.Kind) {
			m.after = append(m.after, section)
		}
	}
}

// equivalence: iron(II) with permanganate, whose potential has a proton term.
func equivalence(m *maker) {
	e1 := symbol("E°′", "1", "", "the formal potential of {Fe^3+}/{Fe^2+}").With(m.given("E1", m.draw(0.68, 0.77, 2, 1), 2, "V"))
	e2 := symbol("E°′", "2", "", "the formal potential of {MnO4^-}/{Mn^2+} at 1 mol/L of {H^+}").With(m.given("E2", m.draw(1.48, 1.51, 2, 1), 2, "V"))
	pH := symbol("pH", "", "", "minus the decadic logarithm of the concentration of {H^+} in mol/L").With(m.given("pH", m.draw(0.3, 1.5, 1, 1), 1, "1"))
	m.ask("Iron(II) is titrated with permanganate. The formal potentials are @ for {Fe^3+}/{Fe^2+}, and @ for {MnO4^-}/{Mn^2+} at 1 mol/L of {H^+}.", e1.Value, e2.Value)
	m.ask("What is the potential at the equivalence point against the standard hydrogen electrode at 1 mol/L of {H^+}, and what at pH @?", pH.Value)
	m.handles("KMnO4", "H2SO4")
	m.key = append(m.key, working.Reaction{Say: working.P("The reaction"), Equation: "MnO4^- + 5 Fe^2+ + 8 H^+ = Mn^2+ + 5 Fe^3+ + 4 H2O"})
	m.tell("At equivalence there is five times as much {Fe^2+} as {MnO4^-}, and five times as much {Fe^3+} as {Mn^2+}. Both Nernst equations added, the second five times, the ratios cancel and the potentials remain, weighted with their electrons.")
	five, six := working.Count(5), working.Count(6)
	at0 := m.step("At 1 mol/L of hydrogen ions", symbol("E", "e,0", "", "the potential at the equivalence point at 1 mol/L of {H^+}"), working.Over(working.Add(e1, working.Times(five, e2)), six), working.Decimals(4), "V")
	at := m.step("Eight hydrogen ions for six electrons move it", symbol("E", "e", "", "the potential at the equivalence point at this pH"), working.Less(at0, working.Times(working.Over(working.Count(8), six), slope(), pH)), working.Decimals(4), "V")
	m.answer("E at equivalence, 1 mol/L of hydrogen ions", at0)
	m.answer("E at equivalence, this pH", at)
}

// separation: how far two potentials must lie apart for a completeness.
func separation(m *maker) {
	n1, n2 := pick(m, 1, 2), pick(m, 1, 2, 5, 6)
	percent := pick(m, 99.0, 99.9, 99.99)
	decimals := map[float64]int{99: 0, 99.9: 1, 99.99: 2}[percent]
	done := m.given("complete", percent, decimals, "%")
	m.e.Given = append(m.e.Given, Value{"n1", working.Count(float64(n1))}, Value{"n2", working.Count(float64(n2))})
	m.ask("A titrand that gives @ per ion is titrated with an oxidant that takes @. Both couples have one species on either side.", electrons(n1), electrons(n2))
	m.ask("By how much must the potential of the oxidant exceed that of the titrand, if @ of the titrand shall have reacted at equivalence?", done)
	p := symbol("p", "", "", "minus the decadic logarithm of the part that is left").With(working.Shortest(math.Round(plan.Decades(percent/100)*1e6)/1e6, "1"))
	m.tell("At equivalence the two couples stand at the same potential. The titrand’s ratio of forms is @ to 1, and so is the titrant’s, the other way round.", working.TenTo(p))
	n := func(sub string, x int) working.Symbol {
		return symbol("n", sub, "", "the electrons of the "+map[string]string{"1": "titrand", "2": "titrant"}[sub]+" per ion").With(working.Count(float64(x)))
	}
	one := working.Count(1)
	d := m.step("So the Nernst equations ask for", symbol("ΔE°′", "", "", "the potential of the titrant’s couple less that of the titrand’s"),
		working.Times(p, slope(), working.Add(working.Over(one, n("1", n1)), working.Over(one, n("2", n2)))), working.Decimals(3), "V")
	m.answer("difference of the formal potentials", d)
}

// electrons is a number of electrons, with the word as its unit.
func electrons(n int) working.Number {
	if n == 1 {
		return working.Said(1, "1", "electron")
	}
	return working.Said(float64(n), fmt.Sprint(n), "electrons")
}

// indicator: what is left at the colour change, in two media.
func indicator(m *maker) {
	change := symbol("E", "i", "", "the potential at which the indicator changes").With(m.given("E_i", m.draw(0.83, 0.88, 2, 1), 2, "V"))
	plain := m.given("E1", m.draw(0.67, 0.70, 2, 1), 2, "V")
	with := m.given("E2", m.draw(0.60, 0.63, 2, 1), 2, "V")
	m.ask("Iron(II) is titrated with dichromate to the change of an indicator at @ against the standard hydrogen electrode. The formal potential of {Fe^3+}/{Fe^2+} is @ in sulfuric acid and @ with phosphoric acid added.", change.Value, plain, with)
	m.ask("What part of the iron is still unoxidised at the change, as an error in percent, in either medium? What does the phosphoric acid do?")
	m.handles("K2Cr2O7", "H2SO4", "H3PO4")
	m.tell("At the change the Nernst equation of the iron gives the ratio of its two forms; the part that is left is one over one and the ratio. The end comes too early, so the error is negative.")
	for _, medium := range []struct {
		sub, say, answer string
		e                working.Number
	}{{"s", "In sulfuric acid", "error in sulfuric acid", plain}, {"p", "With phosphoric acid", "error with phosphoric acid", with}} {
		e := symbol("E°′", medium.sub, "", "the formal potential of iron, "+strings.ToLower(medium.say)).With(medium.e)
		ratio := working.TenTo(working.Over(working.Less(change, e), slope()))
		x := m.step(medium.say, symbol("x", medium.sub, "", "the error, "+strings.ToLower(medium.say)),
			working.Times(working.Count(-1), working.Over(hundred(), working.Add(working.Count(1), ratio))), working.Figures(3), "%")
		m.answer(medium.answer, x)
	}
	m.tell("Phosphoric acid binds {Fe^3+} and lowers the potential of the couple, so that the iron is oxidised further at the same change.")
}

// reference: one reading against three electrodes.
func reference(m *maker) {
	names := []string{"SCE", "Ag/AgCl, sat. KCl", "Ag/AgCl, 3 mol/L KCl"}
	i := m.r.IntN(len(names))
	j := (i + 1 + m.r.IntN(len(names)-1)) % len(names)
	reading := m.given("E", m.draw(350, 900, 0, 1), 0, "mV")
	potential := func(name, key string) working.Number {
		ref, err := electrode.FindReference(name)
		if err != nil {
			m.fail(err)
			return working.Count(0)
		}
		return m.given(key, float64(ref.At25)*1e3, 0, "mV")
	}
	from, to := potential(names[i], "E_from"), potential(names[j], "E_to")
	m.ask("The meter shows @ against "+names[i]+", which stands at @ against the standard hydrogen electrode. Another book has potentials against "+names[j]+", @.", reading, from, to)
	m.ask("What would the meter show against the standard hydrogen electrode, and what against " + names[j] + "?")
	e := symbol("E", "", "", "what the meter shows").With(reading)
	r1 := symbol("E", "1", "", "the potential of "+names[i]+" against the standard hydrogen electrode").With(from)
	r2 := symbol("E", "2", "", "the potential of "+names[j]+" against the standard hydrogen electrode").With(to)
	she := m.step("The reference stands above the hydrogen electrode, so its potential is added", symbol("E", "SHE", "", "the potential against the standard hydrogen electrode"), working.Add(e, r1), working.Decimals(0), "mV")
	other := m.step("From there to the other reference it is taken off", symbol("E", "other", "", "what a meter would show against the other electrode"), working.Less(she, r2), working.Decimals(0), "mV")
	m.answer("against the standard hydrogen electrode", she)
	m.answer("against "+names[j], other)
}
