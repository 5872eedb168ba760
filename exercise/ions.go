package exercise

import (
	"math"

	"meniscus/unit"
	"meniscus/volumetric"
	"meniscus/working"
)

// The acidity constants of EDTA, the fully protonated form first, as the
// question gives them (common textbook values, from memory).
var edta = []float64{0.0, 1.5, 2.00, 2.69, 6.13, 10.37}

// calcium with EDTA: conditional constant and pCa at three volumes.
func calcium(m *maker) {
	pH := symbol("pH", "", "", "minus the decadic logarithm of the concentration of {H^+} in mol/L").With(m.given("pH", m.draw(9, 10.5, 1, 1), 1, "1"))
	end, flask := m.draw(30, 45, 0, 1), 50.0
	titrant := symbol("c", "t", "", "the concentration of EDTA in the burette").With(m.given("c_t", 0.02, 4, "mol/L"))
	ca := symbol("c", "", "Ca^2+", "the concentration of calcium in the flask").With(m.given("c", titrant.Value.Value*end/flask, 5, "mol/L"))
	v0 := symbol("V", "0", "", "the volume in the flask before the first drop").With(m.given("V0", flask, 2, "mL"))
	before, after := m.given("V1", 0.8*end, 2, "mL"), m.given("V3", 1.2*end, 2, "mL")
	logK := symbol("lg K", "", "", "the decadic logarithm of the stability constant of {CaY^2-}, in L/mol").With(m.given("log K", 10.65, 2, "1"))
	m.ask("@ of @ calcium is titrated with @ EDTA at pH @. The complex has lg K @; the acidity constants of EDTA are p{Ka} @, @, @, @, @ and @.", v0.Value, ca.Value, titrant.Value, pH.Value, logK.Value,
		working.Count(edta[0]), working.Count(edta[1]), working.Count(edta[2]), working.Count(edta[3]), working.Count(edta[4]), working.Count(edta[5]))
	m.ask("What part of the free EDTA is {Y^4-}? What is the conditional constant, and what is pCa after @, at the equivalence point and after @?", before, after)
	m.handles("Na2H2Y·2H2O", "NH3")
	alpha := m.free(pH)
	cond := m.step("The conditional constant", symbol("lg K′", "", "", "the decadic logarithm of the conditional constant at this pH, in L/mol"), working.Add(logK, working.Lg(alpha)), working.Decimals(3), "1")
	ve := m.step("The equivalence volume", symbol("V", "e", "", "the volume of EDTA at the equivalence point"), working.Over(working.Times(ca, v0), titrant), working.Decimals(2), "mL")
	m.answer("part of free EDTA as Y⁴⁻", alpha)
	m.answer("lg K′", cond)
	m.answer("pCa before", m.before(ca, v0, titrant, before))
	bound := m.step("At equivalence nearly all is complex", symbol("c", "e", "", "the concentration of the complex at the equivalence point"), working.Over(working.Times(ca, v0), working.Add(v0, ve)), working.Figures(4), "mol/L")
	half := working.Count(2)
	m.answer("pCa at equivalence", m.step("As much calcium as free EDTA is left, so the square of it is the complex over the constant", symbol("pCa", "e", "", "minus the decadic logarithm of the concentration of calcium in mol/L, at the equivalence point"),
		working.Over(working.Less(cond, working.Lg(bound)), half), working.Decimals(2), "1"))
	v3 := symbol("V", "3", "", "the volume of EDTA beyond the equivalence point").With(after)
	m.answer("pCa after", m.step("Beyond it the ratio of complex to free EDTA is that of the volumes", symbol("pCa", "3", "", "minus the decadic logarithm of the concentration of calcium in mol/L, beyond the equivalence point"),
		working.Add(cond, working.Lg(working.Over(working.Less(v3, ve), ve))), working.Decimals(2), "1"))
}

// free is the part of EDTA without protons.
func (m *maker) free(pH working.Symbol) working.Symbol {
	sum := []working.Expr{working.Count(1)}
	total := 0.0
	for i := 1; i <= len(edta); i++ {
		total += edta[len(edta)-i]
		times := working.Expr(pH)
		if i > 1 {
			times = working.Times(working.Count(float64(i)), pH)
		}
		sum = append(sum, working.TenTo(working.Less(working.Shortest(math.Round(total*100)/100, "1"), times)))
	}
	m.tell("Each further {H^+} on the anion weighs with the sum of the p{Ka} it needs, less as many pH.")
	return m.step("The part without protons", symbol("α", "", "Y^4-", "the part of free EDTA that is {Y^4-}"), working.Over(working.Count(1), working.Add(sum...)), working.Figures(3), "1")
}

func (m *maker) before(ca, v0, titrant working.Symbol, volume working.Number) working.Symbol {
	v := symbol("V", "1", "", "the volume of EDTA before the equivalence point").With(volume)
	left := m.step("Before the equivalence point the calcium that is left", symbol("[", "", "Ca^2+", "the concentration of calcium that is left"),
		working.Over(working.Less(working.Times(ca, v0), working.Times(titrant, v)), working.Add(v0, v)), working.Figures(4), "mol/L")
	return m.step("As pCa", symbol("pCa", "1", "", "minus the decadic logarithm of the concentration of calcium in mol/L, before the equivalence point"), working.Times(working.Count(-1), working.Lg(left)), working.Decimals(2), "1")
}

// halides: how much of the first is left when the second falls out.
func halides(m *maker) {
	pair := pick(m,
		[4]string{"I^-", "iodide", "Cl^-", "chloride"}, [4]string{"I^-", "iodide", "Br^-", "bromide"}, [4]string{"Br^-", "bromide", "Cl^-", "chloride"})
	products := map[string]float64{"I^-": 8.3e-17, "Br^-": 5.4e-13, "Cl^-": 1.8e-10}
	first := m.constant("Ks1", working.Figures(2).Number(products[pair[0]], "mol²/L²"))
	second := m.constant("Ks2", working.Figures(2).Number(products[pair[2]], "mol²/L²"))
	c1, c2 := m.given("c1", m.draw(0.01, 0.05, 3, 1), 3, "mol/L"), m.given("c2", m.draw(0.01, 0.05, 3, 1), 3, "mol/L")
	m.ask("A solution of @ "+pair[1]+" and @ "+pair[3]+" is titrated with silver. The solubility products are @ for Ag"+pair[0][:len(pair[0])-2]+" and @ for Ag"+pair[2][:len(pair[2])-2]+".", c1, c2, first, second)
	m.ask("How much " + pair[1] + " is left when the second salt starts to fall out, as a part of what there was? Leave dilution aside.")
	m.handles("AgNO3")
	k1, k2 := symbol("K", "s,1", "", "the solubility product of the salt that falls first").With(first), symbol("K", "s,2", "", "the solubility product of the salt that falls second").With(second)
	b := symbol("c", "2", "", "the concentration of "+pair[3]).With(c2)
	ag := m.step("The second salt starts when silver reaches", symbol("[", "", "Ag^+", "the concentration of silver when the second salt starts"), working.Over(k2, b), working.Figures(3), "mol/L")
	left := m.step("The first salt is there too, so its product holds as well", symbol("[", "", pair[0], "the concentration of "+pair[1]+" then"), working.Over(k1, ag), working.Figures(3), "mol/L")
	part := m.step("Of what there was", symbol("x", "", "", "the part of the "+pair[1]+" that is left"), working.Times(hundred(), working.Over(left, symbol("c", "1", "", "the concentration of "+pair[1]+" at the start").With(c1))), working.Figures(2), "%")
	m.answer("concentration left", left)
	m.answer("part left", part)
}

// temperature: a volume read in a warm laboratory.
func temperature(m *maker) {
	v := m.given("V", m.draw(20, 45, 2, 1), 2, "mL")
	t := m.given("T", m.draw(23, 32, 0, 1), 0, "°C")
	k := m.constant("coefficient", working.Figures(2).Number(volumetric.WaterExpansion, "1/K"))
	warm, err := volumetric.WaterDensity(unit.Temperature(273.15 + t.Value))
	cool, err20 := volumetric.WaterDensity(volumetric.Reference)
	if err != nil || err20 != nil {
		m.fail(err)
		m.fail(err20)
		return
	}
	dw, dc := m.given("density at T", warm, 3, "g/L"), m.given("density at 20", cool, 3, "g/L")
	m.ask("@ of a dilute aqueous solution is read at @. The expansion of water is often taken as @; its densities are @ at that temperature and @ at 20 °C. Leave the glass aside.", v, t, k, dw, dc)
	m.ask("What is the volume at 20 °C by the coefficient, and what by the densities?")
	vs := symbol("V", "", "", "the volume read").With(v)
	warmer := m.step("Above 20 °C by", symbol("ΔT", "", "", "the temperature above 20 °C"), working.Less(symbol("t", "", "", "the temperature of the solution").With(t), working.Shortest(20, "°C")), working.Decimals(0), "K")
	by := m.step("By the coefficient", symbol("V", "20,k", "", "the volume at 20 °C by the coefficient"), working.Times(vs, working.Less(working.Count(1), working.Times(symbol("k", "", "", "the expansion of water by volume, per kelvin").With(k), warmer))), working.Decimals(3), "mL")
	density := m.step("By the densities: the mass stays", symbol("V", "20,ρ", "", "the volume at 20 °C by the densities"), working.Times(vs, working.Over(symbol("ρ", "t", "", "the density of water at that temperature").With(dw), symbol("ρ", "20", "", "the density of water at 20 °C").With(dc))), working.Decimals(3), "mL")
	m.tell("The coefficient itself grows with temperature, so the densities are the better way away from 20 °C.")
	m.answer("volume at 20 °C by the coefficient", by)
	m.answer("volume at 20 °C by the densities", density)
}
