package yamlfile_test

import (
	"fmt"

	"meniscus/yamlfile"
)

func Example() {
	f := yamlfile.File{Name: "flask.yaml", Data: []byte("flask:\n  volume: 50.00\n")}
	var v struct {
		Flask struct {
			Volume any `yaml:"volume"`
		} `yaml:"flask"`
	}
	if err := f.Decode(&v, "it needs a flask", "the manual"); err != nil {
		fmt.Println(err)
	}
	fmt.Println(f.Fail([]any{"flask", "volume"}, "%s has no unit", yamlfile.Text(v.Flask.Volume)))
	// Output:
	// flask.yaml:2: flask, volume: 50 has no unit
	//     2 |   volume: 50.00
	//       |           ^
}
