package working

import (
	"fmt"
	"strings"
)

// checkLaTeX reads LaTeX as far as braces, dollars, environments and \left and
// \right go, and refuses bare signs that TeX would take for its own.
func checkLaTeX(s string) error {
	var open []string
	push := func(x string) { open = append(open, x) }
	pop := func(x string) error {
		if len(open) == 0 || open[len(open)-1] != x {
			return fmt.Errorf("%q closes what is not open: %q", x, open)
		}
		open = open[:len(open)-1]
		return nil
	}
	math := func() bool {
		for _, o := range open {
			if o == "$" || o == `\[` || o == "align*" {
				return true
			}
		}
		return false
	}
	for i := 0; i < len(s); i++ {
		var err error
		switch s[i] {
		case '\\':
			rest := s[i+1:]
			switch {
			case strings.HasPrefix(rest, "begin{"):
				name, _, _ := strings.Cut(rest[6:], "}")
				push(name)
				i += len(`begin{`) + len(name) + 1
				if strings.HasPrefix(s[i+1:], "{") && name != "tabular" {
					return fmt.Errorf("argument behind %s", name)
				}
			case strings.HasPrefix(rest, "end{"):
				name, _, _ := strings.Cut(rest[4:], "}")
				err = pop(name)
				i += len(`end{`) + len(name) + 1
			case strings.HasPrefix(rest, "left("):
				push(`\left`)
				i += 5
			case strings.HasPrefix(rest, "right)"):
				err = pop(`\left`)
				i += 6
			case rest != "" && rest[0] == '[':
				push(`\[`)
				i++
			case rest != "" && rest[0] == ']':
				err = pop(`\[`)
				i++
			default:
				i++
			}
		case '{':
			push("{")
		case '}':
			err = pop("{")
		case '$':
			if len(open) > 0 && open[len(open)-1] == "$" {
				err = pop("$")
			} else {
				push("$")
			}
		case '_', '^':
			if !math() {
				err = fmt.Errorf("%c outside mathematics at %d", s[i], i)
			}
		case '%', '#':
			err = fmt.Errorf("bare %c at %d", s[i], i)
		case '&':
			if !strings.Contains(strings.Join(open, " "), "align*") && !strings.Contains(strings.Join(open, " "), "tabular") {
				err = fmt.Errorf("& outside a table at %d", i)
			}
		}
		if err != nil {
			return err
		}
	}
	if len(open) > 0 {
		return fmt.Errorf("left open: %q", open)
	}
	return nil
}
