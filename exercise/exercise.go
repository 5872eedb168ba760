// Package exercise makes problem sheets: questions with numbers of their own for
// each sheet, and apart from them the key with full working. Numbers are drawn
// so that answers come out as at the bench: ends at 60 to 90 % of the burette,
// masses as a balance shows them. It marks nobody's work.
package exercise

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"strings"

	"meniscus/constants"
	"meniscus/working"
)

// A Kind is one kind of question.
type Kind struct {
	Name   string
	Title  string
	System string // what is titrated, of Systems
	make   func(*maker)
}

// Systems lists the systems that questions are about, in the order of a course.
var Systems = []string{"redox", "acids and bases", "EDTA", "silver", "any titration"}

// Kinds lists the kinds of question in the order of a sheet. Names are stored in
// people's notes: add at will, never rename.
var Kinds = []Kind{
	{"curve", "What the meter reads", "redox", potentials},
	{"equivalence", "The potential at equivalence", "redox", equivalence},
	{"separation", "How far apart the potentials must be", "redox", separation},
	{"indicator", "Is this indicator good enough?", "redox", indicator},
	{"reference", "From one reference electrode to another", "redox", reference},
	{"weigh", "What to weigh", "any titration", weigh},
	{"standardise", "The strength of a titrant", "redox", standardise},
	{"slip", "A slip of ten", "redox", slip},
	{"carbonate", "Carbon dioxide in the sodium hydroxide", "acids and bases", carbonate},
	{"content", "Iron in a sample", "redox", content},
	{"spread", "A spread that cannot be", "any titration", spread},
	{"back", "A back titration", "redox", back},
	{"mixture", "Hydroxide and carbonate together", "acids and bases", mixture},
	{"calcium", "Calcium with EDTA", "EDTA", calcium},
	{"halides", "Two halides and silver", "silver", halides},
	{"temperature", "A warm burette", "any titration", temperature},
	{"budget", "The uncertainty of a concentration", "any titration", budget},
	{"burette", "How much of the burette to use", "any titration", burette},
}

// KindNames lists the names of the kinds.
func KindNames() []string {
	var list []string
	for _, k := range Kinds {
		list = append(list, k.Name)
	}
	return list
}

// An UnknownKindError reports a name that is no kind of question.
type UnknownKindError struct{ Name string }

func (e *UnknownKindError) Error() string {
	return fmt.Sprintf("no kind of question is called %q; have %s", e.Name, strings.Join(KindNames(), ", "))
}

// An UnknownSystemError reports a name that is no system.
type UnknownSystemError struct{ Name string }

func (e *UnknownSystemError) Error() string {
	return fmt.Sprintf("no questions are about %q; there are some about %s", e.Name, strings.Join(Systems, ", "))
}

// A Value is a number of an exercise with a name.
type Value struct {
	Name   string
	Number working.Number
}

// An Exercise is a question with its key.
type Exercise struct {
	Kind     Kind
	Question []working.Block
	Key      []working.Section // the first without a title
	Given    []Value
	Answers  []Value
	Reagents []string // that would be handled at the bench
}

// Options say what a sheet holds. The zero value is sound.
type Options struct {
	Kinds  []string // none takes every kind
	System string   // narrows the kinds to one of Systems; "" is all of them
	Count  int      // of questions; 0 is one of each kind
}

// A Sheet is the exercises of one student.
type Sheet struct {
	Seed      uint64
	Number    int // of the sheet, from 1
	Exercises []Exercise
}

// New makes a sheet. The same seed, number and options make the same sheet;
// sheets of one seed have the same kinds of question in the same order.
func New(seed uint64, number int, o Options) (Sheet, error) {
	kinds, err := chosen(seed, o)
	if err != nil {
		return Sheet{}, err
	}
	sheet := Sheet{Seed: seed, Number: number}
	for i, k := range kinds {
		m := &maker{r: source(seed, fmt.Sprintf("%s %d %d", k.Name, number, i)), e: Exercise{Kind: k}}
		k.make(m)
		if m.err != nil {
			return Sheet{}, fmt.Errorf("exercise %q of sheet %d, seed %d: %w", k.Name, number, seed, m.err)
		}
		sheet.Exercises = append(sheet.Exercises, m.done())
	}
	return sheet, nil
}

// source is the numbers of one exercise: no exercise shifts those of another.
func source(seed uint64, what string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(what))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

func chosen(seed uint64, o Options) ([]Kind, error) {
	from, err := o.from()
	if err != nil {
		return nil, err
	}
	count, err := o.Questions()
	if err != nil {
		return nil, err
	}
	take := make([]int, len(from))
	for round := count; round > 0; round -= len(from) {
		for _, i := range source(seed, "kinds").Perm(len(from))[:min(round, len(from))] {
			take[i]++
		}
	}
	var list []Kind
	for i, k := range from {
		for range take[i] {
			list = append(list, k)
		}
	}
	return list, nil
}

// from is the kinds that questions may be of.
func (o Options) from() ([]Kind, error) {
	if o.System != "" && !slices.Contains(Systems, o.System) {
		return nil, &UnknownSystemError{o.System}
	}
	names := o.Kinds
	if len(names) == 0 {
		names = KindNames()
	}
	var from []Kind
	for _, name := range names {
		k, err := findKind(name)
		if err != nil {
			return nil, err
		}
		if o.System == "" || o.System == k.System {
			from = append(from, k)
		}
	}
	if len(from) == 0 {
		return nil, fmt.Errorf("none of the kinds %s is about %s", strings.Join(names, ", "), o.System)
	}
	return from, nil
}

// Questions is how many stand on a sheet. The error says what is wrong with the
// choice: an *UnknownKindError, an *UnknownSystemError, or that nothing is left.
func (o Options) Questions() (int, error) {
	from, err := o.from()
	if o.Count > 0 {
		return o.Count, err
	}
	return len(from), err
}

func findKind(name string) (Kind, error) {
	for _, k := range Kinds {
		if k.Name == name {
			return k, nil
		}
	}
	return Kind{}, &UnknownKindError{name}
}

// Document is the sheet to hand out. It holds nothing of the key.
func (s Sheet) Document() (*working.Document, error) {
	d := &working.Document{
		Title: fmt.Sprintf("Problem sheet %d", s.Number),
		Lead:  working.P(fmt.Sprintf("Drawn from seed %d. Take 25 °C unless the question says otherwise, and give each answer with its unit.", s.Seed)),
	}
	for i, e := range s.Exercises {
		d.Sections = append(d.Sections, working.Section{Title: fmt.Sprintf("%d. %s", i+1, e.Kind.Title), Blocks: e.Question})
	}
	section, err := s.cautions()
	if err != nil {
		return nil, err
	}
	if len(section.Blocks) > 0 {
		d.Sections = append(d.Sections, section)
	}
	return d, nil
}

// Key is the key to the sheet: the answers at a glance, then the working.
func (s Sheet) Key() *working.Document {
	d := &working.Document{
		Title: fmt.Sprintf("Key to problem sheet %d", s.Number),
		Lead:  working.P(fmt.Sprintf("Drawn from seed %d. Values are rounded at the end only.", s.Seed)),
	}
	table := working.Table{Caption: working.P("Answers"), Head: []working.Paragraph{working.P("question"), working.P("what"), working.P("answer")}}
	for i, e := range s.Exercises {
		for _, a := range e.Answers {
			table.Rows = append(table.Rows, []working.Paragraph{working.P(fmt.Sprint(i + 1)), working.P(a.Name), working.P("@", a.Number)})
		}
	}
	d.Sections = append(d.Sections, working.Section{Title: "Answers at a glance", Blocks: []working.Block{table}})
	for i, e := range s.Exercises {
		for j, section := range e.Key {
			if j == 0 {
				section.Title = fmt.Sprintf("%d. %s", i+1, e.Kind.Title)
			} else {
				section.Title = fmt.Sprintf("%d, %s", i+1, strings.ToLower(section.Title[:1])+section.Title[1:])
			}
			d.Sections = append(d.Sections, section)
		}
	}
	return d
}

// Sheets is several sheets to hand out, each on a page of its own.
func Sheets(list []Sheet) (*working.Document, error) {
	var docs []*working.Document
	for _, s := range list {
		d, err := s.Document()
		if err != nil {
			return nil, err
		}
		docs = append(docs, d)
	}
	return bind("Problem sheets", docs), nil
}

// Keys is the keys to several sheets.
func Keys(list []Sheet) *working.Document {
	var docs []*working.Document
	for _, s := range list {
		docs = append(docs, s.Key())
	}
	return bind("Keys to the problem sheets", docs)
}

// bind puts documents one behind the other; one alone stays as it is.
func bind(title string, docs []*working.Document) *working.Document {
	if len(docs) == 1 {
		return docs[0]
	}
	all := &working.Document{Title: title}
	for _, d := range docs {
		head := working.Section{Title: d.Title, NewPage: len(all.Sections) > 0, Blocks: []working.Block{d.Lead}}
		all.Sections = append(append(all.Sections, head), d.Sections...)
	}
	return all
}

// cautions are those of the reagents named on the sheet.
func (s Sheet) cautions() (working.Section, error) {
	var names []string
	for _, e := range s.Exercises {
		names = append(names, e.Reagents...)
	}
	section := working.Section{Title: "Before any of this is done at the bench"}
	if len(names) == 0 {
		return working.Section{}, nil
	}
	c, err := constants.CautionsFor(names...)
	if err != nil {
		return working.Section{}, fmt.Errorf("looking up cautions: %w", err)
	}
	var list working.List
	for _, h := range c.Hazards {
		words := strings.Join(h.Words(), "; ")
		if words == "" {
			words = "usually not classified"
		}
		list = append(list, working.Plain(h.Name+": "+words))
	}
	for _, u := range c.Unknown {
		list = append(list, working.Plain(u+": not in the table; that does not mean harmless"))
	}
	for _, p := range c.Precautions {
		list = append(list, working.Plain(p))
	}
	if len(list) > 0 {
		section.Blocks = append(section.Blocks, list)
	}
	section.Blocks = append(section.Blocks, working.Caution(working.Plain(strings.Join(c.Protection, "; ")+". "+c.Closing)))
	return section, nil
}
