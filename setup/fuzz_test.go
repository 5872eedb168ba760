package setup

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// FuzzSetup reads any bytes as a setup: there is a setup that can be used, or
// an *Error that says what is wrong; never a panic.
func FuzzSetup(f *testing.F) {
	files, err := filepath.Glob("../examples/*/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, text := range []string{
		"", "ratio: 1 to 1", "- a", "{", "a: &a [*a]", "flask: {volume: 50 mL, contains: {Fe^2+: 0.05 mol/L}}", "hold: {pH: 0}\nhold: 3", "\xff\xfe",
		"flask: {portions: [{volume: 1 mL, water: yes}]}\nburette: {contains: {HCl: 0.1 N (n=1)}}", "chemistry: [{reaction: = , pKa: 1}]",
		"electrode: {calibration: [{pH: 4, reads: 168 mV}, {pH: 4, reads: 1 mV}], indicator: glass}", "activity: {model: davies, A: x}", "volumes: 0 to 1e300 step 1e-300 mL",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Read(data, "setup.yaml")
		if err == nil {
			if s.Titration == nil && s.Ratio == nil {
				t.Error("neither chemistry nor a ratio, and no error")
			}
			return
		}
		var e *Error
		if !errors.As(err, &e) || strings.TrimSpace(e.Message) == "" {
			t.Errorf("%T: %v", err, err)
		}
	})
}
