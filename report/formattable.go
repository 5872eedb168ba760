package report

import (
	"io"
	"slices"
)

// A FormatOf writes one kind of thing in one form.
type FormatOf[T any] struct {
	Name  string
	Write func(io.Writer, *T) error
}

// A FormatTable lists the forms of one kind of thing, the usual one first.
type FormatTable[T any] []FormatOf[T]

// Find returns the form of that name.
func (t FormatTable[T]) Find(name string) (f FormatOf[T], ok bool) {
	i := slices.IndexFunc(t, func(f FormatOf[T]) bool { return f.Name == name })
	if i < 0 {
		return f, false
	}
	return t[i], true
}

// Names lists the names.
func (t FormatTable[T]) Names() []string {
	var list []string
	for _, f := range t {
		list = append(list, f.Name)
	}
	return list
}
