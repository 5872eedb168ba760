package exercise

import (
	"math"

	"meniscus/working"
)

// content: iron in a sample by permanganate.
func content(m *maker) {
	molar := m.molarMass("Fe")
	c, v := m.given("c", m.draw(0.018, 0.022, 5, 1), 5, "mol/L"), m.given("V", m.draw(30, 45, 2, 1), 2, "mL")
	percent := m.draw(8, 40, 0, 1)
	sample := m.given("m", 5*c.Value*v.Value*molar.Value.Value/1000*100/percent*(1+0.02*(m.r.Float64()-0.5)), 4, "g")
	m.ask("@ of a sample is dissolved in sulfuric acid, its iron brought to iron(II) and titrated: it takes @ of @ permanganate. Iron has @.", sample, v, c, molar.Value)
	m.ask("What is the mass fraction of iron in percent?")
	m.handles("KMnO4", "H2SO4")
	m.key = append(m.key, working.Reaction{Say: working.P("The reaction"), Equation: "MnO4^- + 5 Fe^2+ + 8 H^+ = Mn^2+ + 5 Fe^3+ + 4 H2O"})
	n := m.step("One permanganate oxidises five of iron", symbol("n", "", "Fe^2+", "the amount of iron"),
		working.Times(working.Count(5), symbol("c", "", "MnO4^-", "the concentration of permanganate").With(c), symbol("V", "", "", "the volume of permanganate").With(v)), working.Figures(5), "mmol")
	mass := m.step("As a mass", symbol("m", "", "Fe", "the mass of iron"), working.Over(working.Times(n, molar), thousand()), working.Decimals(5), "g")
	w := m.step("Of the sample", symbol("w", "", "Fe", "the mass fraction of iron"), working.Times(hundred(), working.Over(mass, symbol("m", "", "", "the mass of the sample").With(sample))), working.Figures(4), "%")
	m.answer("mass fraction of iron", w)
}

// spread: a relative standard deviation given as a fraction with a percent sign.
func spread(m *maker) {
	mean := m.given("mean", m.draw(8, 20, 2, 1), 2, "%")
	s := m.given("s", m.draw(0.2, 0.8, 2, 1), 2, "%")
	wrong := working.Figures(2).Number(s.Value/mean.Value, "%")
	m.ask("A report gives a content of @ by mass with a standard deviation of @ by mass, and a relative standard deviation of @.", mean, s, wrong)
	m.ask("What is wrong, and what is the relative standard deviation?")
	x, dev := symbol("w", "mean", "", "the mean content").With(mean), symbol("s", "", "", "the standard deviation, in the unit of the content").With(s)
	rsd := m.step("The relative one is the standard deviation over the mean, in percent", symbol("s", "rel", "", "the relative standard deviation"), working.Times(hundred(), working.Over(dev, x)), working.Figures(3), "%")
	m.tell("The report forgot the factor of a hundred: it wrote the fraction with a percent sign.")
	m.answer("relative standard deviation", rsd)
}

// back: dichromate by an excess of iron(II).
func back(m *maker) {
	aliquot := m.given("V_a", 25, 2, "mL")
	fe, vFe := m.given("c(Fe)", m.draw(0.098, 0.102, 4, 1), 4, "mol/L"), m.given("V(Fe)", 50, 2, "mL")
	ce, vCe := m.given("c(Ce)", m.draw(0.098, 0.102, 4, 1), 4, "mol/L"), m.given("V(Ce)", m.draw(15, 22.5, 2, 1), 2, "mL")
	m.ask("To @ of a dichromate solution in acid @ of @ iron(II) is added. What is left of the iron takes @ of @ cerium(IV) from a burette of 25 mL.", aliquot, vFe, fe, vCe, ce)
	m.ask("What is the concentration of the dichromate?")
	m.handles("K2Cr2O7", "Ce(SO4)2", "H2SO4")
	m.key = append(m.key, working.Reaction{Say: working.P("What is sought reacts first"), Equation: "Cr2O7^2- + 6 Fe^2+ + 14 H^+ = 2 Cr^3+ + 6 Fe^3+ + 7 H2O"})
	amount := func(say, sub, of, name string, c, v working.Number) working.Symbol {
		return m.step(say, symbol("n", sub, of, "the amount of "+name), working.Times(symbol("c", "", of, "the concentration of "+name).With(c), symbol("V", "", of, "the volume of "+name).With(v)), working.Decimals(4), "mmol")
	}
	in := amount("Iron(II) added in all", "", "Fe^2+", "iron(II)", fe, vFe)
	left := amount("The cerium(IV) tells what was left of it", "", "Ce^4+", "cerium(IV)", ce, vCe)
	used := m.step("So the dichromate took", symbol("n", "used", "Fe^2+", "the amount of iron(II) that the dichromate took"), working.Less(in, left), working.Decimals(4), "mmol")
	c := m.step("Six of iron for one dichromate", symbol("c", "", "Cr2O7^2-", "the concentration of dichromate"), working.Over(used, working.Times(working.Count(6), symbol("V", "a", "", "the volume of the dichromate solution").With(aliquot))), working.Figures(4), "mol/L")
	m.answer("concentration of dichromate", c)
}

// mixture: hydroxide and carbonate by two changes of colour.
func mixture(m *maker) {
	aliquot := m.given("V_a", 25, 2, "mL")
	acid := m.given("c", m.draw(0.098, 0.108, 4, 1), 4, "mol/L")
	all := m.given("V_m", m.draw(30, 45, 2, 1), 2, "mL")
	first := m.given("V_p", all.Value-m.draw(2, 6, 2, 1), 2, "mL")
	m.ask("@ of a sodium hydroxide that holds carbonate takes @ of @ hydrochloric acid to the change of phenolphthalein, and @ in all to that of methyl orange.", aliquot, first, acid, all)
	soda, lye := m.molarMass("Na2CO3"), m.molarMass("NaOH")
	m.ask("What are the concentrations of carbonate and of hydroxide, and the masses of {Na2CO3}, @, and {NaOH}, @, in a litre?", soda.Value, lye.Value)
	m.handles("NaOH", "HCl")
	m.tell("To phenolphthalein the hydroxide reacts and the carbonate takes one {H^+}; from there to methyl orange it takes the other. So the second part of the volume is the carbonate alone.")
	c := symbol("c", "", "HCl", "the concentration of the acid").With(acid)
	p, o := symbol("V", "p", "", "the volume of acid to phenolphthalein").With(first), symbol("V", "m", "", "the volume of acid to methyl orange, in all").With(all)
	v := symbol("V", "a", "", "the volume of the sample").With(aliquot)
	carb := m.step("Carbonate", symbol("c", "", "CO3^2-", "the concentration of carbonate"), working.Over(working.Times(c, working.Less(o, p)), v), working.Decimals(5), "mol/L")
	hydr := m.step("Hydroxide: what is left of the first part", symbol("c", "", "OH^-", "the concentration of hydroxide"), working.Over(working.Times(c, working.Less(working.Times(working.Count(2), p), o)), v), working.Decimals(5), "mol/L")
	mc := m.step("Sodium carbonate in a litre", symbol("ρ", "", "Na2CO3", "the mass of sodium carbonate in a litre"), working.Times(carb, soda), working.Decimals(3), "g/L")
	mh := m.step("Sodium hydroxide in a litre", symbol("ρ", "", "NaOH", "the mass of sodium hydroxide in a litre"), working.Times(hydr, lye), working.Decimals(3), "g/L")
	m.answer("concentration of carbonate", carb)
	m.answer("concentration of hydroxide", hydr)
	m.answer("mass of sodium carbonate per litre", mc)
	m.answer("mass of sodium hydroxide per litre", mh)
}

// budget: a concentration by one titration, two volumes uncertain.
func budget(m *maker) {
	c := symbol("c", "t", "", "the concentration of the titrant").With(m.given("c_t", m.draw(0.018, 0.022, 4, 1), 4, "mol/L"))
	v := m.given("V", m.draw(15, 22.5, 2, 1), 2, "mL")
	flask := m.given("V_0", pick(m, 20.0, 25), 2, "mL")
	a, b := m.given("a", pick(m, 0.03, 0.04, 0.05), 2, "mL"), m.given("b", pick(m, 0.02, 0.03, 0.04), 2, "mL")
	m.ask("@ of a solution takes @ of a titrant of @ that reacts one to one and is taken as exact. The equivalence volume lies within @, the pipette within @, either way and anywhere between (rectangular).", flask, v, c.Value, a, b)
	m.ask("What is the concentration with its standard uncertainty, and its expanded uncertainty for a coverage factor of 2?")
	vs, v0 := symbol("V", "e", "", "the equivalence volume").With(v), symbol("V", "0", "", "the volume of the pipette").With(flask)
	x := m.step("The concentration", symbol("c", "", "", "the concentration sought"), working.Over(working.Times(c, vs), v0), working.Figures(5), "mol/L")
	half := func(say, sub, what string, n working.Number) working.Symbol {
		return m.step(say, symbol("u", sub, "", "the standard uncertainty of "+what), working.Over(symbol("a", sub, "", "the half-width for "+what).With(n), working.Root(working.Count(3))), working.Figures(3), "mL")
	}
	u1, u2 := half("A half-width over the root of three is a standard uncertainty", "e", "the equivalence volume", a), half("The same for the pipette", "0", "the pipette", b)
	two := working.Count(2)
	square := func(u, v working.Symbol) working.Expr {
		return working.Power{Base: working.Over(u, v), Exp: two}
	}
	u := m.step("A product of independent factors: relative uncertainties add as squares", symbol("u", "", "", "the standard uncertainty of the concentration"),
		working.Times(x, working.Root(working.Add(square(u1, vs), square(u2, v0)))), working.Figures(2), "mol/L")
	expanded := m.step("Expanded", symbol("U", "", "", "the expanded uncertainty, coverage factor 2"), working.Times(two, u), working.Figures(2), "mol/L")
	m.answer("concentration", x)
	m.answer("standard uncertainty", u)
	m.answer("expanded uncertainty, coverage factor 2", expanded)
}

// burette: what part of its scale carries how much.
func burette(m *maker) {
	size := pick(m, 25.0, 50)
	m.e.Given = append(m.e.Given, Value{"capacity", working.Shortest(size, "mL")})
	limit := m.given("a", map[float64]float64{25: 0.03, 50: 0.05}[size], 2, "mL")
	each := m.given("r", pick(m, 0.01, 0.015, 0.02), 3, "mL")
	small, large := m.given("V1", decimal(size*m.draw(0.1, 0.25, 2, 1), 1), 1, "mL"), m.given("V2", decimal(size*m.draw(0.7, 0.9, 2, 1), 1), 1, "mL")
	m.ask("A burette of @ is within @, most likely near the middle (triangular). Either of the two readings of a volume has a standard uncertainty of @.", working.Shortest(size, "mL"), limit, each)
	m.ask("What is the relative standard uncertainty of @ and of @ from it? What follows for the size of the aliquot?", small, large)
	a, r := symbol("a", "", "", "the half-width that the class allows").With(limit), symbol("u", "r", "", "the standard uncertainty of one reading").With(each)
	two := working.Count(2)
	u := m.step("Triangular: over the root of six. The reading counts twice, at the start and at the end", symbol("u", "", "", "the standard uncertainty of a volume"),
		working.Root(working.Add(working.Over(working.Power{Base: a, Exp: two}, working.Count(6)), working.Times(two, working.Power{Base: r, Exp: two}))), working.Figures(3), "mL")
	for _, v := range []struct {
		sub, name string
		n         working.Number
	}{{"1", "of the small volume", small}, {"2", "of the large volume", large}} {
		x := m.step("Relative to "+v.n.String(), symbol("u", "rel,"+v.sub, "", "the relative standard uncertainty "+v.name), working.Times(hundred(), working.Over(u, symbol("V", v.sub, "", "the volume in question, "+v.sub).With(v.n))), working.Figures(2), "%")
		m.answer("relative uncertainty at "+v.n.String(), x)
	}
	m.tell("The uncertainty of a volume is much the same at every volume, so the relative one falls as the volume grows: the end should fall at 60 to 90 % of the burette, here @ to @.",
		working.Shortest(math.Round(size*60)/100, "mL"), working.Shortest(math.Round(size*90)/100, "mL"))
}
