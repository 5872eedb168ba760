package setup

func (r *reader) reference() error {
	r.s.Electrode.Reference = text(r.f.Electrode.Reference)
	return nil
}
func (r *reader) library() error      { return nil }
func (r *reader) ionSizes(b *builder) {}
