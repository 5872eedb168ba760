package main

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"
)

// A Mutation is one line of one file, replaced by a wrong one.
type Mutation struct {
	Name string   // unique
	File string   // from the root of the module, with slashes
	Old  string   // the line as it is, without the blanks around it; occurs once
	New  string   // the line that takes its place; empty deletes it
	Test []string // the packages whose tests must notice
}

// keys are the words that begin the lines of a block, all of them needed.
var keys = []string{"name", "file", "old", "new", "test"}

// Read reads a list of mutations. Each is a block of five lines that begin
// with "name:", "file:", "old:", "new:" and "test:" in any order. Blank lines
// part the blocks, and a line that begins with # is a comment.
func Read(r io.Reader) ([]Mutation, error) {
	var all []Mutation
	block := map[string]string{}
	lines := bufio.NewScanner(r)
	number := 0
	for more := true; more; {
		more = lines.Scan()
		number++
		text := strings.TrimSpace(lines.Text())
		switch {
		case strings.HasPrefix(text, "#"):
		case more && text != "":
			if err := addLine(block, text); err != nil {
				return nil, fmt.Errorf("line %d: %w", number, err)
			}
		case len(block) > 0:
			m, err := fromBlock(block, all)
			if err != nil {
				return nil, fmt.Errorf("block before line %d: %w", number, err)
			}
			all = append(all, m)
			clear(block)
		}
	}
	return all, lines.Err()
}

func addLine(block map[string]string, text string) error {
	key, value, ok := strings.Cut(text, ":")
	if !ok || !slices.Contains(keys, key) {
		return fmt.Errorf("%q does not begin with one of %s", text, strings.Join(keys, ", "))
	}
	if _, again := block[key]; again {
		return fmt.Errorf("a second %q in one block", key)
	}
	block[key] = strings.TrimSpace(value)
	return nil
}

func fromBlock(block map[string]string, before []Mutation) (Mutation, error) {
	for _, key := range keys {
		if value, ok := block[key]; !ok || value == "" && key != "new" {
			return Mutation{}, fmt.Errorf("%q is missing", key)
		}
	}
	m := Mutation{block["name"], block["file"], block["old"], block["new"], strings.Fields(block["test"])}
	if m.Old == m.New {
		return Mutation{}, fmt.Errorf("%s changes nothing", m.Name)
	}
	if slices.ContainsFunc(before, func(b Mutation) bool { return b.Name == m.Name }) {
		return Mutation{}, fmt.Errorf("a second mutation is named %s", m.Name)
	}
	return m, nil
}
