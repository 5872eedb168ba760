package main

import (
	"fmt"
	"time"

	"meniscus/electrode"
	"meniscus/unit"
	"meniscus/yamlfile"
)

// electrodeFile is a log of checks as it stands in YAML.
type electrodeFile struct {
	Title       any         `yaml:"title"`
	Reference   any         `yaml:"reference"`
	Temperature any         `yaml:"temperature"`
	Checks      []checkFile `yaml:"checks"`
}

type checkFile struct {
	Date        any          `yaml:"date"`
	Buffers     []bufferFile `yaml:"buffers"`
	Solution    any          `yaml:"solution"`
	Reads       any          `yaml:"reads"`
	Quinhydrone []bufferFile `yaml:"quinhydrone"`
	Reference   any          `yaml:"reference"`
	Temperature any          `yaml:"temperature"`
	Tolerance   any          `yaml:"tolerance"`
	Note        any          `yaml:"note"`
}

type bufferFile struct {
	PH    any `yaml:"pH"`
	Reads any `yaml:"reads"`
}

// A check is one day's, with what was found.
type check struct {
	date     time.Time
	measures []electrode.Measure
	note     string
}

type electrodeLog struct {
	title  string
	checks []check
}

type electrodeReader struct {
	source yamlfile.File
	f      electrodeFile
}

func readElectrodeLog(data []byte, name string) (*electrodeLog, error) {
	r := &electrodeReader{source: yamlfile.File{Name: name, Data: data}}
	if err := r.source.Decode(&r.f, "a log needs checks, each with its date", "docs/electrodes.md"); err != nil {
		return nil, err
	}
	if len(r.f.Checks) == 0 {
		return nil, r.source.Fail(nil, "holds no checks; write checks: - {date: 2026-11-02, buffers: [...]}")
	}
	log := &electrodeLog{title: yamlfile.Text(r.f.Title)}
	for i, f := range r.f.Checks {
		c, err := r.check(f, []any{"checks", i})
		if err != nil {
			return nil, err
		}
		if i > 0 && c.date.Before(log.checks[i-1].date) {
			return nil, r.source.Fail([]any{"checks", i, "date"}, "%s is before the check above it; a log goes on in order of time", c.date.Format(time.DateOnly))
		}
		log.checks = append(log.checks, c)
	}
	return log, nil
}

func (r *electrodeReader) quantity(v any, dim unit.Dimension, example string, place ...any) (float64, error) {
	q, err := unit.ParseQuantity(yamlfile.Text(v))
	if err != nil {
		return 0, r.source.Fail(place, "%v", err)
	}
	d, _, err := q.In(dim, example)
	if err != nil {
		return 0, r.source.Fail(place, "%v", err)
	}
	return d.Float(), nil
}

func (r *electrodeReader) check(f checkFile, place []any) (check, error) {
	c := check{note: yamlfile.Text(f.Note)}
	in := func(keys ...any) []any { return append(append([]any{}, place...), keys...) }
	var err error
	if c.date, err = time.Parse(time.DateOnly, yamlfile.Text(f.Date)); err != nil {
		return c, r.source.Fail(in("date"), "%q is not a day; write it as 2026-11-24", yamlfile.Text(f.Date))
	}
	t := unit.Celsius(25)
	for _, v := range []struct {
		x     any
		place []any
	}{{r.f.Temperature, []any{"temperature"}}, {f.Temperature, in("temperature")}} {
		if v.x == nil {
			continue
		}
		x, err := r.quantity(v.x, unit.DimTemperature, "25 °C", v.place...)
		if err != nil {
			return c, err
		}
		t = unit.Temperature(x)
	}
	kinds := 0
	for _, has := range []bool{f.Buffers != nil, f.Solution != nil, f.Quinhydrone != nil} {
		if has {
			kinds++
		}
	}
	if kinds != 1 {
		return c, r.source.Fail(place, "has %d of buffers, solution and quinhydrone; a check is one of them", kinds)
	}
	if f.Buffers != nil {
		points, err := r.buffers(f.Buffers, in("buffers"))
		if err != nil {
			return c, err
		}
		g, err := electrode.CalibrateGlass(points, t)
		if err != nil {
			return c, r.source.Fail(in("buffers"), "%v", err)
		}
		c.measures = g.Measures()
		return c, nil
	}
	return c, r.metal(&c, f, t, in)
}

// metal reads a check of a noble metal, which needs a reference electrode.
func (r *electrodeReader) metal(c *check, f checkFile, t unit.Temperature, in func(...any) []any) error {
	name, where := yamlfile.Text(f.Reference), in("reference")
	if f.Reference == nil {
		name, where = yamlfile.Text(r.f.Reference), []any{"reference"}
	}
	if name == "" {
		return r.source.Fail(in(), "needs its reference electrode, such as reference: SCE")
	}
	ref, err := electrode.FindReference(name)
	if err != nil {
		return r.source.Fail(where, "%v", err)
	}
	tolerance := 0.0
	if f.Tolerance != nil {
		if tolerance, err = r.quantity(f.Tolerance, unit.DimPotential, "20 mV", in("tolerance")...); err != nil {
			return err
		}
		if !(tolerance > 0 && tolerance <= 0.050) {
			return r.source.Fail(in("tolerance"), "%s: procedures allow 10 to 30 mV", yamlfile.Text(f.Tolerance))
		}
	}
	if f.Quinhydrone != nil {
		points, err := r.buffers(f.Quinhydrone, in("quinhydrone"))
		if err != nil {
			return err
		}
		if c.measures, err = electrode.Quinhydrone(points, ref, t, unit.Potential(tolerance)); err != nil {
			return r.source.Fail(in("quinhydrone"), "%v", err)
		}
		return nil
	}
	wanted := yamlfile.Text(f.Solution)
	var known string
	for _, s := range electrode.CheckSolutions {
		if s.Name == wanted {
			e, err := r.quantity(f.Reads, unit.DimPotential, "430 mV", in("reads")...)
			if err != nil {
				return err
			}
			c.measures = []electrode.Measure{s.Measure(unit.Potential(e), ref, t, unit.Potential(tolerance))}
			return nil
		}
		known += ", " + s.Name
	}
	return r.source.Fail(in("solution"), "%q is no check solution; have %s", wanted, known[2:])
}

func (r *electrodeReader) buffers(list []bufferFile, place []any) ([]electrode.BufferPoint, error) {
	var points []electrode.BufferPoint
	for i, b := range list {
		at := append(append([]any{}, place...), i)
		var pH float64
		if _, err := fmt.Sscanf(yamlfile.Text(b.PH), "%g", &pH); err != nil || !(pH > -2 && pH < 16) {
			return nil, r.source.Fail(at, "%q is no pH of a buffer; write {pH: 4.01, reads: 168 mV}", yamlfile.Text(b.PH))
		}
		e, err := r.quantity(b.Reads, unit.DimPotential, "168 mV", append(at, "reads")...)
		if err != nil {
			return nil, err
		}
		points = append(points, electrode.BufferPoint{PH: pH, Reads: unit.Potential(e)})
	}
	return points, nil
}
