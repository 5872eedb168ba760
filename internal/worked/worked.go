// Package worked holds titrations whose numbers are known from elsewhere, for
// the tests of every package: values printed in books and papers (Published)
// and curves computed to many digits by a calculation of its own (Systems).
//
// It reads data and knows no chemistry: nothing here computes a potential, and
// nothing here may import a package that does.
package worked

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"strings"
)

// Topics lists what Published knows.
var Topics = []string{"redox", "electrolyte", "acid-base", "complexometric", "precipitation"}

//go:embed testdata/published/*.json
var publishedFiles embed.FS

// A Record is one published example: what was given and what was printed.
type Record struct {
	ID       string           `json:"id"`
	Topic    string           `json:"topic"`
	Source   string           `json:"source"` // title, edition, table or page
	Origin   Origin           `json:"origin"`
	Inputs   map[string]Input `json:"inputs"` // names end in their unit where they have one
	Expected []Expected       `json:"expected"`
	Notes    string           `json:"notes"` // misprints found, and where the exact value differs
}

// An Origin says whether the source was seen. A test that uses a value from
// memory says so.
type Origin string

// Read: the source, or the formula or data behind the value, was seen.
// Memory: it was not.
const (
	Read   Origin = "read"
	Memory Origin = "memory"
)

// An Expected is one printed value. Tolerance is in Unit, and is half a unit
// of the last printed digit or what the source allows; 0 means exact. Unit "1"
// is a plain number.
type Expected struct {
	Quantity  string  `json:"quantity"`
	Value     float64 `json:"value"`
	Unit      string  `json:"unit"`
	Tolerance float64 `json:"tolerance"`
}

// An Input is a number, a list of numbers or a text, as given.
type Input struct {
	text    string
	numbers []json.Number
}

// UnmarshalJSON reads any of the three.
func (in *Input) UnmarshalJSON(b []byte) error {
	switch b[0] {
	case '"':
		return json.Unmarshal(b, &in.text)
	case '[':
		return json.Unmarshal(b, &in.numbers)
	}
	in.numbers = make([]json.Number, 1)
	if err := json.Unmarshal(b, &in.numbers[0]); err != nil {
		return err
	}
	in.text = in.numbers[0].String()
	return nil
}

// Text returns a text input, or the decimal text of a number.
func (r Record) Text(name string) (string, error) {
	in, ok := r.Inputs[name]
	if !ok || in.text == "" {
		return "", fmt.Errorf("%s: no input %q that is a text or a number", r.ID, name)
	}
	return in.text, nil
}

// Number returns a number.
func (r Record) Number(name string) (float64, error) {
	list, err := r.Numbers(name)
	if err != nil {
		return 0, err
	}
	if len(list) != 1 {
		return 0, fmt.Errorf("%s: input %q is %d numbers, not one", r.ID, name, len(list))
	}
	return list[0], nil
}

// Numbers returns a list of numbers; a single number is a list of one.
func (r Record) Numbers(name string) ([]float64, error) {
	in, ok := r.Inputs[name]
	if !ok || len(in.numbers) == 0 {
		return nil, fmt.Errorf("%s: no input %q that is a number", r.ID, name)
	}
	out := make([]float64, len(in.numbers))
	for i, n := range in.numbers {
		v, err := n.Float64()
		if err != nil {
			return nil, fmt.Errorf("%s: input %q: %w", r.ID, name, err)
		}
		out[i] = v
	}
	return out, nil
}

// Published returns the records of one of Topics, in their stored order.
func Published(topic string) ([]Record, error) {
	b, err := publishedFiles.ReadFile("testdata/published/" + topic + ".json")
	if err != nil {
		return nil, fmt.Errorf("unknown topic %q; have %s", topic, strings.Join(Topics, ", "))
	}
	var out []Record
	if err := decode(b, &out); err != nil {
		return nil, fmt.Errorf("reading published values of %s: %w", topic, err)
	}
	return out, nil
}

// Find returns the published record with an id, from any topic.
func Find(id string) (Record, error) {
	for _, topic := range Topics {
		records, err := Published(topic)
		if err != nil {
			return Record{}, err
		}
		for _, r := range records {
			if r.ID == id {
				return r, nil
			}
		}
	}
	return Record{}, fmt.Errorf("no published record %q", id)
}

// decode reads JSON that must have no field we do not know.
func decode(b []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	return d.Decode(v)
}
