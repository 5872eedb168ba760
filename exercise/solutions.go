package exercise

import (
	"meniscus/solution"
	"meniscus/unit"
	"meniscus/working"
)

// A bottle is a salt that solutions are made from.
type bottle struct {
	species, salt, name string
	concs               []float64 // mol/L
}

var bottles = []bottle{
	{"Fe^2+", "Fe(NH4)2(SO4)2·6H2O", "ammonium iron(II) sulfate hexahydrate", []float64{0.05, 0.1}},
	{"Ce^4+", "(NH4)4Ce(SO4)4·2H2O", "ammonium cerium(IV) sulfate dihydrate", []float64{0.05, 0.1}},
	{"Ce^4+", "(NH4)2Ce(NO3)6", "ammonium cerium(IV) nitrate", []float64{0.05, 0.1}},
	{"Cr2O7^2-", "K2Cr2O7", "potassium dichromate", []float64{0.01, 0.015, 0.02}},
	{"C2O4^2-", "Na2C2O4", "sodium oxalate", []float64{0.02, 0.05}},
	{"Ag^+", "AgNO3", "silver nitrate", []float64{0.02, 0.05, 0.1}},
}

// weigh: the mass for a solution of a round concentration.
func weigh(m *maker) {
	b := pick(m, bottles...)
	c := symbol("c", "", "", "the concentration wanted").With(m.given("c", pick(m, b.concs...), 3, "mol/L"))
	v := m.given("V", pick(m, 100.0, 200, 250, 500, 1000), 0, "mL")
	m.handles(b.salt)
	r, err := solution.Make(solution.Wanted{
		Solutes: []solution.Solute{{Name: b.species, Conc: unit.Concentration(c.Value.Value), From: b.salt}}, Volume: unit.Volume(v.Value / 1000),
	})
	if err != nil {
		m.fail(err)
		return
	}
	molar := m.constant("M", working.Decimals(2).Number(decimal(float64(r.Portions[0].MolarMass.Value), 2), "g/mol"))
	m.ask("How much of "+b.name+", {"+b.salt+"}, @, belongs into @ of a solution of @ {"+b.species+"}?", molar, v, c.Value)
	litres := symbol("V", "", "", "the volume of the flask").With(working.Shortest(v.Value/1000, "L"))
	mass := m.step("One mole of the salt, with its water, gives one mole of what is wanted", symbol("m", "", "", "the mass to weigh"),
		working.Times(c, litres, symbol("M", "", "", "the molar mass of the salt with its water").With(molar)), working.Decimals(4), "g")
	m.tell("Weigh about this much, to 0.1 mg, and compute the concentration from the mass that was really weighed.")
	m.answer("mass", mass)
}

// standardise: permanganate by sodium oxalate, with a blank.
func standardise(m *maker) {
	molar := m.molarMass("Na2C2O4")
	c, v, blank := m.draw(0.018, 0.022, 5, 1), m.draw(30, 45, 2, 1), m.draw(0.03, 0.08, 2, 1)
	mass := m.given("m", 2.5*c*(v-blank)/1000*molar.Value.Value, 4, "g")
	read, none := m.given("V", v, 2, "mL"), m.given("V_b", blank, 2, "mL")
	m.ask("@ of sodium oxalate, {Na2C2O4}, @, takes @ of permanganate in hot dilute sulfuric acid. The acid alone takes @.", mass, molar.Value, read, none)
	m.ask("What is the concentration of the permanganate?")
	m.handles("Na2C2O4", "KMnO4", "H2SO4")
	m.key = append(m.key, working.Reaction{Say: working.P("The reaction"), Equation: "2 MnO4^- + 5 C2O4^2- + 16 H^+ = 2 Mn^2+ + 10 CO2 + 8 H2O"})
	n := m.step("Amount of oxalate", symbol("n", "", "C2O4^2-", "the amount of oxalate weighed in"),
		working.Times(thousand(), working.Over(symbol("m", "", "", "the mass of sodium oxalate").With(mass), molar)), working.Decimals(5), "mmol")
	found := m.step("Two of permanganate react with five of oxalate; the blank is taken off", symbol("c", "", "MnO4^-", "the concentration of permanganate"),
		working.Times(working.Over(working.Count(2), working.Count(5)), working.Over(n, working.Less(symbol("V", "", "", "the volume read").With(read), symbol("V", "b", "", "the volume that the blank takes").With(none)))), working.Figures(5), "mol/L")
	m.answer("concentration of permanganate", found)
}

// slip: two lines of a sheet differ by ten.
func slip(m *maker) {
	molar := m.molarMass("K2Cr2O7")
	mass := m.given("m", m.draw(1.15, 1.35, 4, 1), 4, "g")
	flask, aliquot := m.given("V_f", 250, 1, "mL"), m.given("V_a", 25, 2, "mL")
	read := m.given("V", m.draw(22, 28, 2, 1), 2, "mL")
	amount := 6 * mass.Value / molar.Value.Value * aliquot.Value / flask.Value
	lines := []working.Number{working.Figures(4).Number(amount, "mol"), working.Figures(4).Number(amount/10, "mol")}
	if m.r.IntN(2) == 0 {
		lines[0], lines[1] = lines[1], lines[0]
	}
	m.ask("@ of potassium dichromate, {K2Cr2O7}, @, is made up to @. For @ of it @ of an iron(II) solution is used up. A sheet gives the amount of iron(II) as @ in one line and as @ in another.", mass, molar.Value, flask, aliquot, read, lines[0], lines[1])
	m.ask("Which of them is right, and what is the concentration of the iron(II)?")
	m.handles("K2Cr2O7")
	m.key = append(m.key, working.Reaction{Say: working.P("The reaction"), Equation: "Cr2O7^2- + 6 Fe^2+ + 14 H^+ = 2 Cr^3+ + 6 Fe^3+ + 7 H2O"})
	n := m.step("Dichromate in the aliquot", symbol("n", "", "Cr2O7^2-", "the amount of dichromate in the aliquot"),
		working.Times(thousand(), working.Over(symbol("m", "", "", "the mass of potassium dichromate").With(mass), molar), working.Over(symbol("V", "a", "", "the volume of the aliquot").With(aliquot), symbol("V", "f", "", "the volume of the flask").With(flask))), working.Figures(5), "mmol")
	fe := m.step("One dichromate reacts with six of iron", symbol("n", "", "Fe^2+", "the amount of iron(II) used up"), working.Times(working.Count(6), n), working.Figures(5), "mmol")
	c := m.step("In the volume used", symbol("c", "", "Fe^2+", "the concentration of iron(II)"), working.Over(fe, symbol("V", "", "", "the volume of iron(II) used up").With(read)), working.Figures(5), "mol/L")
	m.tell("So @ is right; the other line has slipped by a power of ten.", working.Figures(4).Number(amount, "mol"))
	m.answer("amount of iron(II)", fe)
	m.answer("concentration of iron(II)", c)
}

// carbonate: what carbon dioxide does to sodium hydroxide.
func carbonate(m *maker) {
	c0 := m.given("c", pick(m, 0.05, 0.1, 0.1, 0.2), 4, "mol/L")
	gas := m.given("CO2", m.draw(0.20, 0.60, 2, 1), 2, "mmol/L")
	m.ask("Sodium hydroxide of @ has taken up @ of carbon dioxide from the air.", c0, gas)
	m.ask("What concentration does a titration with acid find with phenolphthalein, by how many percent is that off, and what does it find with methyl orange?")
	m.handles("NaOH", "HCl")
	m.key = append(m.key, working.Reaction{Say: working.P("What the gas does"), Equation: "CO2 + 2 OH^- = CO3^2- + H2O"})
	m.tell("Carbon dioxide costs two {OH^-}. At the change of phenolphthalein the carbonate has taken one {H^+} and become {HCO3^-}, so one of the two is lost; at methyl orange it has taken both, and nothing is lost.")
	c := symbol("c", "0", "", "the concentration of sodium hydroxide before").With(c0)
	x := m.step("In the same unit", symbol("c", "", "CO2", "the carbon dioxide taken up, per litre"), working.Over(symbol("b", "", "", "the same in mmol/L").With(gas), thousand()), working.Decimals(5), "mol/L")
	p := m.step("With phenolphthalein", symbol("c", "p", "", "the concentration found with phenolphthalein"), working.Less(c, x), working.Decimals(5), "mol/L")
	off := m.step("Relative to the true value", symbol("e", "", "", "the relative error with phenolphthalein"), working.Times(hundred(), working.Over(working.Less(p, c), c)), working.Decimals(2), "%")
	orange := m.step("With methyl orange two are lost and two found", symbol("c", "m", "", "the concentration found with methyl orange"), working.Add(working.Less(c, working.Times(working.Count(2), x)), working.Times(working.Count(2), x)), working.Decimals(5), "mol/L")
	m.answer("found with phenolphthalein", p)
	m.answer("error with phenolphthalein", off)
	m.answer("found with methyl orange", orange)
}
