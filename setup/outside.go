package setup

import (
	"meniscus/electrode"
)

// reference looks the reference electrode up; without one potentials are
// against SHE, and the setup says so.
func (r *reader) reference() error {
	e := &r.s.Electrode
	name := text(r.f.Electrode.Reference)
	if name == "" {
		e.Reference = "SHE"
		if r.f.Electrode.Indicator != "glass" {
			r.s.Notes = append(r.s.Notes, "no reference electrode is named; potentials are taken against SHE")
		}
		return nil
	}
	ref, err := electrode.FindReference(name)
	if err != nil {
		return r.fail([]any{"electrode", "reference"}, "%v", err)
	}
	v, u, note := ref.Potential(r.s.Temperature)
	e.Reference, e.ReferenceV, e.ReferenceU = ref.Name, float64(v), float64(u)
	if note != "" {
		r.s.Notes = append(r.s.Notes, ref.Name+": "+note)
	}
	if ref.Name != "SHE" {
		ju, note := electrode.JunctionUncertainty(r.s.Flask.Medium)
		e.JunctionU, e.JunctionNote = float64(ju), note
	}
	return nil
}

func (r *reader) library() error      { return nil }
func (r *reader) ionSizes(b *builder) {}
