package report

import (
	"fmt"
	"io"
)

func writeText(w io.Writer, d Document) error {
	_, err := fmt.Fprintln(w, d.Title)
	return err
}
