package yamlfile_test

import (
	"errors"
	"strings"
	"testing"

	"meniscus/yamlfile"
)

// Bytes that are no text are named by line, and not blamed on the grammar.
func TestNotText(t *testing.T) {
	for name, data := range map[string]string{
		"Latin-1":  "title: iron\nnotes: 20 \xb0C\n",
		"NUL":      "title: iron\nnotes: a\x00b\n",
		"workbook": "PK\x03\x04\nrest \xff\xfe\n",
	} {
		var v struct{ Title, Notes string }
		err := (&yamlfile.File{Name: "s.yaml", Data: []byte(data)}).Decode(&v, "", "")
		var e *yamlfile.Error
		if !errors.As(err, &e) || e.Line != 2 || !strings.Contains(e.Message, "not text in UTF-8") {
			t.Errorf("%s: %v", name, err)
		}
	}
	var v struct{ Title string }
	if err := (&yamlfile.File{Data: []byte("title: Fe²⁺ 20 °C\n")}).Decode(&v, "", ""); err != nil {
		t.Error("text in UTF-8:", err)
	}
}
