package web

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// A Password is the hash of the password of a bench that others can reach.
type Password struct {
	time, memory uint32 // memory in KiB
	salt, sum    []byte
}

// Cost of a hash: argon2id with two passes over 19 MiB, the second of the
// settings that OWASP's cheat sheet on password storage lists (from memory).
const (
	argonTime   = 2
	argonMemory = 19 << 10
	argonSize   = 32
)

// MinPassword is how many characters a password has at least.
const MinPassword = 8

// NewPassword hashes a password.
func NewPassword(text string) (*Password, error) { return hashPassword(text, argonTime, argonMemory) }

func hashPassword(text string, time, memory uint32) (*Password, error) {
	if len([]rune(text)) < MinPassword {
		return nil, fmt.Errorf("the password has %d characters; at least %d are meant", len([]rune(text)), MinPassword)
	}
	p := &Password{time: time, memory: memory, salt: make([]byte, 16)}
	rand.Read(p.salt)
	p.sum = p.hash(text)
	return p, nil
}

func (p *Password) hash(text string) []byte {
	return argon2.IDKey([]byte(text), p.salt, p.time, p.memory, 1, argonSize)
}

// Matches says whether text is the password, in a time that tells nothing.
func (p *Password) Matches(text string) bool {
	return subtle.ConstantTimeCompare(p.hash(text), p.sum) == 1
}

// String is the hash as it is kept, in the usual form.
func (p *Password) String() string {
	b := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=1$%s$%s", argon2.Version, p.memory, p.time, b.EncodeToString(p.salt), b.EncodeToString(p.sum))
}

// ParsePassword reads what String wrote.
func ParsePassword(text string) (*Password, error) {
	parts := strings.Split(text, "$")
	p := &Password{}
	bad := fmt.Errorf("what is kept as the hash of the password cannot be read")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return nil, bad
	}
	if n, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=1", &p.memory, &p.time); n != 2 || err != nil || p.time == 0 || p.memory < 8 || p.memory > 1<<20 {
		return nil, bad
	}
	var err1, err2 error
	p.salt, err1 = base64.RawStdEncoding.DecodeString(parts[4])
	p.sum, err2 = base64.RawStdEncoding.DecodeString(parts[5])
	if err1 != nil || err2 != nil || len(p.sum) != argonSize {
		return nil, bad
	}
	return p, nil
}
