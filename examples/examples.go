// Package examples holds the worked examples that come with the program: setup
// files, and readings with them. They are scenarios of our own.
package examples

import (
	"embed"
	"io/fs"
	"path"
	"strings"
)

//go:embed granules/*.yaml granules/*.csv systems/*.yaml
var files embed.FS

// An Example is a setup file with the name it is asked for by.
type Example struct {
	Name  string // of the file: "iron-cerium"
	Title string // as it stands in the setup
	Setup []byte
}

// Worked is the example with readings that a newcomer starts from.
func Worked() Example {
	data, err := files.ReadFile("granules/setup.yaml")
	if err != nil {
		panic("examples: " + err.Error()) // it is embedded
	}
	return Example{"granules", title(data), data}
}

// Readings returns the readings of the worked example, CSV.
func Readings() []byte {
	data, err := files.ReadFile("granules/readings.csv")
	if err != nil {
		panic("examples: " + err.Error()) // it is embedded
	}
	return data
}

// Systems returns a setup for each kind of titration, by name.
func Systems() []Example {
	names, err := fs.Glob(files, "systems/*.yaml")
	if err != nil {
		panic("examples: " + err.Error()) // the pattern is fixed
	}
	list := make([]Example, 0, len(names))
	for _, n := range names {
		data, err := files.ReadFile(n)
		if err != nil {
			panic("examples: " + err.Error()) // it is embedded
		}
		list = append(list, Example{strings.TrimSuffix(path.Base(n), ".yaml"), title(data), data})
	}
	return list
}

// title reads the title line without the rest of the setup.
func title(data []byte) string {
	for line := range strings.Lines(string(data)) {
		if text, ok := strings.CutPrefix(line, "title:"); ok {
			return strings.Trim(strings.TrimSpace(text), `"'`)
		}
	}
	return ""
}
