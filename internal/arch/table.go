package arch

// A Row says what one package may import of ours. Level orders the rows: an
// import points to a lower level, or to one that the row names.
//
// May is a list of words. A path names that package; "num/*" names every
// package under num; "0-7" every package of these levels; and "below" adds all
// that the named packages may themselves import.
type Row struct {
	Level int
	Dir   string // path in the module; "num/*" stands for each package under num
	May   string
}

// Table is the package map, with rows for planned packages too.
var Table = []Row{
	{0, "num/*", "num/*"},
	{0, "unit", "num/dd"},
	{0, "yamlfile", ""},
	{1, "chem", "unit"},
	{1, "curve", "unit"},
	{1, "uncertainty", "unit num/* yamlfile"},
	{2, "equilibrium", "chem unit num/*"},
	{2, "volumetric", "unit uncertainty"},
	{2, "working", "chem unit"},
	{3, "constants", "equilibrium chem unit"},
	{3, "electrode", "equilibrium unit uncertainty num/*"},
	{3, "endpoint", "curve unit uncertainty num/*"},
	{4, "solution", "constants chem volumetric uncertainty unit"},
	{4, "titration", "equilibrium electrode curve chem unit num/*"},
	{4, "instrument", "curve unit"},
	{5, "setup", "titration constants solution volumetric uncertainty yamlfile below"},
	{5, "fit", "titration endpoint curve uncertainty unit num/*"},
	{6, "assay", "setup fit endpoint solution volumetric below"},
	{6, "plan", "setup fit endpoint solution volumetric below"},
	{7, "explain", "assay plan setup working below"},
	{7, "course", "assay plan setup explain working below"},
	{8, "exercise", "plan setup explain solution volumetric electrode working below"},
	{8, "store", "0-7"},
	{7, "examples", ""},
	{8, "report/font", ""},
	{8, "report/figure", "0-7 report/font"},
	{7, "chain", "chem volumetric uncertainty unit yamlfile"},
	{8, "report", "0-7 report/figure report/font"},
	{9, "web", "0-8"},
	{10, "cmd/meniscus", "0-9"},

	// Not in the program: tests, benchmarks and tools of the developer.
	{11, "internal/arch", ""},
	{11, "internal/pgserver", ""},
	{11, "internal/mutate", ""},
	{11, "internal/lab", "curve unit num/*"},
	{11, "internal/worked", "curve unit num/*"},
	{11, "internal/browser", "0-9"},
	{11, "bench/opponent", ""},
	{11, "bench", "0-9 bench/opponent internal/lab internal/worked"},
}

// engineLevel is the highest level that does no input or output of its own.
const engineLevel = 6

// doesIO lists the packages up to engineLevel that may touch the machine.
var doesIO = []string{"instrument"}

// machine lists the standard packages that touch the machine: files, network,
// log, database. Packages under them count too.
var machine = []string{"os", "net", "log", "database/sql", "syscall", "io/ioutil"}

// clock lists the functions of package time that read or wait for the clock.
var clock = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker"}
