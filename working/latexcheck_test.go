package working

import (
	"fmt"
	"regexp"
	"strings"
)

// LaTeXFault is what is wrong with a whole LaTeX document, for tests outside of
// this package; nil if nothing is.
func LaTeXFault(s string) error {
	preamble, body, ok := strings.Cut(s, "\\begin{document}")
	if !ok {
		return fmt.Errorf("no document begins")
	}
	have := map[string]bool{"": true, "own": true}
	for _, m := range regexp.MustCompile(`\\usepackage(?:\[[^]]*\])?\{([^}]*)\}`).FindAllStringSubmatch(preamble, -1) {
		have[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`\\[A-Za-z]+`).FindAllString(body, -1) {
		from, known := commandFrom[m]
		switch {
		case !known:
			return fmt.Errorf("unknown command %s", m)
		case !have[from]:
			return fmt.Errorf("%s needs package %s", m, from)
		case from == "own" && !strings.Contains(preamble, "{"+m+"}"):
			return fmt.Errorf("the preamble does not define %s", m)
		}
	}
	if i := strings.IndexFunc(body, beyondT1); i >= 0 {
		return fmt.Errorf("pdflatex does not know %q: %.80q", []rune(body[i:])[0], body[max(0, i-30):])
	}
	if m := regexp.MustCompile(`\\item\[[^{].*`).FindString(body); m != "" {
		return fmt.Errorf("brackets within %s would end its argument", m)
	}
	return checkLaTeX("\\begin{document}" + body)
}

// beyondT1 says whether pdflatex with the encodings of the preamble stops at a
// character: it knows ASCII and the letters of Latin-1 and Latin Extended-A.
func beyondT1(r rune) bool {
	return r > '~' && (r < 'À' || r > 'ž' || r == '×' || r == '÷')
}

// commandFrom names the package that a command of the body comes from: "" for
// LaTeX itself, own for the preamble.
var commandFrom = func() map[string]string {
	m := map[string]string{}
	for from, list := range map[string]string{
		"": `\begin \end \section \subsection \clearpage \textbf \item \hline \frac \sqrt \left \right \lg \ln \exp \mathrm \cdot \times \small
			\setlength \addtolength \settowidth \tabcolsep \renewcommand \linewidth \raggedright \rightleftharpoons \rightarrow \backslash \hat
			\approx \ll \gg \le \ge \pm \circ \prime \surd \textbackslash \textasciicircum \textasciitilde \textless \textgreater \ldots
			\alpha \beta \gamma \delta \varepsilon \kappa \lambda \mu \nu \pi \rho \sigma \tau \varphi \chi \Delta \Sigma`,
		"array":    `\arraybackslash \arraystretch`,
		"amsmath":  `\text`,
		"textcomp": `\textdegree \textmu \textonehalf`,
		"fontenc":  `\textquotedbl`,
		"own":      `\lead \fitted`,
	} {
		for _, name := range strings.Fields(list) {
			m[name] = from
		}
	}
	return m
}()

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
