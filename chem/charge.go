package chem

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// plainCharge maps every way to write the characters of a charge to one.
var plainCharge = strings.NewReplacer("⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5",
	"⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9", "⁺", "+", "⁻", "-", "−", "-", "–", "-")

const (
	raised     = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻"
	plainSigns = "+-−–"
	digits     = "0123456789"
)

// chargeText writes a charge as it ends a Name: "^2+", "^-", "" for none.
func chargeText(z int) string {
	sign := "+"
	switch {
	case z == 0:
		return ""
	case z < 0:
		sign, z = "-", -z
	}
	if z == 1 {
		return "^" + sign
	}
	return "^" + strconv.Itoa(z) + sign
}

// charge reads the charge behind a formula, 0 if there is none.
func (p *reader) charge() (int, error) {
	at := p.pos
	switch c := p.peek(); {
	case c == '^':
		p.pos++
		closing := ""
		if p.take("{") {
			closing = "}"
		} else if p.take("(") {
			closing = ")"
		}
		body := p.run(digits + plainSigns + raised)
		if closing != "" && !p.take(closing) {
			return 0, p.fail(p.pos, strconv.Quote(closing)+" is missing behind the charge", "")
		}
		return p.chargeValue(at, body)
	case c != 0 && strings.ContainsRune(raised, c):
		return p.chargeValue(at, p.run(raised))
	case c != 0 && strings.ContainsRune(plainSigns, c):
		return p.bareSign(at)
	}
	return 0, nil
}

// run consumes characters of set and returns them as plain digits and signs.
func (p *reader) run(set string) string {
	start := p.pos
	for p.take(set) {
	}
	return plainCharge.Replace(p.text[start:p.pos])
}

// chargeValue reads "2+", "+" or "+2".
func (p *reader) chargeValue(at int, body string) (int, error) {
	base := strings.TrimSpace(p.text[:at])
	number := strings.Trim(body, "+-")
	signs := strings.Replace(body, number, "", 1)
	switch {
	case body == "":
		return 0, p.fail(at, "a charge is missing behind ^", "")
	case signs == "":
		return 0, p.fail(at, "the charge has no sign", base+"^"+number+"+ or "+base+"^"+number+"-")
	case len(signs) > 1 && number != "":
		return 0, p.fail(at, "the charge has more than one sign; a + between terms has blanks around it", "")
	case len(signs) > 1:
		return 0, p.fail(at, "one sign is enough", base+repeatedSigns(signs))
	}
	z := 1
	if number != "" {
		n, err := strconv.Atoi(number)
		if err != nil || n > maxCharge {
			return 0, p.fail(at, "no ion has this charge", "")
		}
		if n == 0 || number[0] == '0' {
			return 0, p.fail(at, "a charge does not begin with 0; a neutral species has none", "")
		}
		z = n
	}
	if signs == "-" {
		z = -z
	}
	return z, nil
}

// repeatedSigns returns "^3+" for "+++", and nothing for mixed signs.
func repeatedSigns(signs string) string {
	n := len(signs)
	if strings.Count(signs, "-") == n {
		n = -n
	} else if strings.Count(signs, "+") != n {
		return ""
	}
	return chargeText(n)
}

// bareSign reads a sign without ^. Behind a plain digit it is accepted only if
// that makes an ion of the table.
func (p *reader) bareSign(at int) (int, error) {
	base := strings.TrimSpace(p.text[:at])
	body := p.run(plainSigns + digits)
	number := strings.Trim(body, "+-")
	signs := strings.Replace(body, number, "", 1)
	switch {
	case len(signs) > 1:
		return 0, p.fail(at, "one sign is enough", base+repeatedSigns(signs))
	case number != "":
		return 0, p.fail(at, "a charge follows ^", base+"^"+number+signs)
	}
	z := 1
	if signs == "-" {
		z = -1
	}
	stem := strings.TrimRight(base, digits)
	if stem == base || p.known != nil && p.known(base+"^"+signs) {
		return z, nil
	}
	_, size := utf8.DecodeLastRuneInString(base)
	meant := base[:len(base)-size] + "^" + base[len(base)-size:] + signs
	if strings.HasSuffix(meant, "^0"+signs) || strings.HasSuffix(meant, "^1"+signs) {
		meant = base + "^" + signs
	} else if len(base) == len(stem)+1 {
		meant += " (or " + base + "^" + signs + ")"
	}
	return 0, p.fail(at, "count and charge cannot be told apart", meant)
}
