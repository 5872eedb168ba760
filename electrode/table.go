package electrode

import "math"

// couple is the kind of reference electrode.
type couple int

const (
	hydrogen couple = iota
	calomel
	silverChloride
	mercurySulfate
	mercuryOxide
	copperSulfate
)

// saturated stands for the concentration of a saturated filling.
var saturated = math.Inf(1)

const (
	review = `"Reference Electrodes in Metal Corrosion", Int. J. Corrosion 2010, 756950, table 2`
	sawyer = "Sawyer, Sobkowiak & Roberts, Electrochemistry for Chemists, 2nd ed., with liquid junction"
	meter  = "public manual of a multiparameter meter, 3 mol/L KCl Ag/AgCl"
	light  = "T. S. Light, Anal. Chem. 44 (1972) 1038, difference of two readings of one solution"
	bates  = "R. G. Bates & V. E. Bower, J. Res. NBS 53 (1954) 283"
	older  = "older handbooks, linear in temperature (from memory)"
	// E = E0 - RT/F ln a(Cl-) with E0 of Bates & Bower and a(Cl-) held at its
	// value at 25 °C: dE/dT = dE0/dT + (E(25) - E0(25))/298.15 K, where
	// dE0/dT = -0.646 mV/K is the derivative of their cubic at 25 °C.
	nernst = "Bates & Bower's standard potential with the Nernst equation, activity of chloride constant (from memory)"
)

// References lists the reference electrodes known by name, in the order users
// are shown them. The names are stored with results: add at will, never
// rename. The slice is shared: do not change it.
//
// SCE and saturated Ag/AgCl have the textbook values without liquid junction,
// 0.241 and 0.197 V; the values with it, 0.244 and 0.199 V, stand as Others.
var References = []Reference{
	{
		Name: "SHE", Source: "by definition", Origin: Read, Fixed: true, couple: hydrogen,
	},
	{
		Name: "SCE", At25: 0.241, Source: review, Origin: Read,
		Table: []Point{{10, 254}, {15, 251}, {20, 248}, {25, 244}, {30, 241}, {35, 238}, {40, 234}},
		Shape: sawyer + " (from memory)", Others: []Other{{Point{25, 244}, sawyer, Memory}},
		couple: calomel, salt: "kcl", filling: saturated,
	},
	{
		Name: "calomel, 3.5 mol/L KCl", At25: 0.250, Source: sawyer, Origin: Memory,
		Table: []Point{{10, 256}, {15, 254}, {20, 252}, {25, 250}, {30, 248}, {35, 246}, {40, 244}},
		Shape: sawyer + " (from memory)", couple: calomel, salt: "kcl", filling: 3.5,
	},
	{
		Name: "calomel, 1 mol/L KCl", At25: 0.2801, Source: review, Origin: Read,
		PerKelvin: -0.24e-3, Shape: older, couple: calomel, salt: "kcl", filling: 1,
	},
	{
		Name: "calomel, 0.1 mol/L KCl", At25: 0.3337, Source: review, Origin: Read,
		PerKelvin: -0.07e-3, Shape: older, Others: []Other{{Point{25, 336}, sawyer, Memory}},
		couple: calomel, salt: "kcl", filling: 0.1,
	},
	{
		Name: "Ag/AgCl, saturated KCl", At25: 0.197, Source: review, Origin: Read,
		Table: []Point{{10, 214}, {15, 209}, {20, 204}, {25, 199}, {30, 194}, {35, 189}, {40, 184}},
		Shape: sawyer + " (from memory)", Others: []Other{{Point{25, 199}, sawyer, Memory}},
		couple: silverChloride, salt: "kcl", filling: saturated,
	},
	{
		Name: "Ag/AgCl, 4 mol/L KCl", At25: 0.200, Source: light, Origin: Memory,
		PerKelvin: -0.72e-3, Shape: nernst, couple: silverChloride, salt: "kcl", filling: 4,
	},
	{
		Name: "Ag/AgCl, 3.5 mol/L KCl", At25: 0.205, Source: sawyer, Origin: Memory,
		Table: []Point{{10, 215}, {15, 212}, {20, 208}, {25, 205}, {30, 201}, {35, 197}, {40, 193}},
		Shape: sawyer + " (from memory)",
		Others: []Other{{
			Point{25, 204.5},
			"public manual of a water-quality meter, from quinhydrone in two buffers, filling not stated", Read,
		}},
		couple: silverChloride, salt: "kcl", filling: 3.5,
	},
	{
		Name: "Ag/AgCl, 3 mol/L KCl", At25: 0.207, Source: meter, Origin: Read,
		Table: []Point{{5, 221}, {10, 217}, {15, 214}, {20, 210}, {25, 207}, {30, 203}, {35, 200}, {40, 196}},
		Shape: meter + " (read)",
		Others: []Other{
			{Point{20, 213}, "open discussion of a soil-redox project", Read},
			{Point{25, 207}, "Droog et al., J. Electroanal. Chem. 99 (1979) 173, as cited elsewhere", Read},
		},
		couple: silverChloride, salt: "kcl", filling: 3,
	},
	{
		Name: "Ag/AgCl, 1 mol/L KCl", At25: 0.236, Source: review, Origin: Read,
		PerKelvin: -0.60e-3, Shape: nernst, Others: []Other{{Point{25, 236}, light, Memory}},
		couple: silverChloride, salt: "kcl", filling: 1,
	},
	{
		Name: "Ag/AgCl, 0.1 mol/L KCl", At25: 0.2895, Source: review, Origin: Read,
		PerKelvin: -0.42e-3, Shape: nernst, couple: silverChloride, salt: "kcl", filling: 0.1,
	},
	{
		Name: "Ag/AgCl, standard (activity of chloride 1)", At25: 0.22234, Source: bates, Origin: Memory,
		Table: []Point{
			{0, 236.55},
			{5, 234.13},
			{10, 231.42},
			{15, 228.57},
			{20, 225.57},
			{25, 222.34},
			{30, 219.04},
			{35, 215.65},
			{40, 212.08},
			{45, 208.35},
			{50, 204.49},
			{55, 200.56},
			{60, 196.49},
		},
		Shape: bates + " (from memory)", couple: silverChloride, salt: "standard",
	},
	{
		Name: "Hg/Hg2SO4, saturated K2SO4", At25: 0.640, Source: "Bard & Faulkner, Electrochemical Methods", Origin: Memory,
		Others: []Other{
			{Point{25, 650}, "another handbook, quoted in a note on converting potentials", Read},
			{Point{25, 658}, "Ives & Janz, Reference Electrodes", Memory},
		},
		couple: mercurySulfate, salt: "k2so4", filling: saturated,
	},
	{
		Name: "Hg/Hg2SO4, 1 mol/L H2SO4", At25: 0.6739, Source: review, Origin: Read,
		couple: mercurySulfate, salt: "h2so4", filling: 1,
	},
	{
		Name: "Hg/Hg2SO4, 0.5 mol/L H2SO4", At25: 0.680, Source: "Bard & Faulkner; Ives & Janz", Origin: Memory,
		couple: mercurySulfate, salt: "h2so4", filling: 0.5,
	},
	{
		Name: "Hg/HgO, 0.1 mol/L NaOH", At25: 0.165, Source: review, Origin: Read,
		couple: mercuryOxide, salt: "naoh", filling: 0.1,
	},
	{
		Name: "Cu/CuSO4, saturated CuSO4", At25: 0.316, Source: review, Origin: Read,
		couple: copperSulfate, salt: "cuso4", filling: saturated,
	},
}
