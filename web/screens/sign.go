package screens

import (
	"strings"

	"stillwatch/permits"
)

// signBox is the part of a form in which somebody signs: who, and their own PIN.
type signBox struct {
	Form   string
	Does   string // completes "… signs to …"
	Roles  string
	People []Signer
}

// Signer is one of those who may sign a form.
type Signer struct {
	ID, Name string
	Chosen   bool
}

// changedBox is the field in which somebody says what was changed since a record that was not right.
type changedBox struct {
	ID, Typed string
	Wrong     bool
}

// rolesInWords names roles; all of them is "anybody of the crew".
func rolesInWords(roles []permits.Role) string {
	if len(roles) >= 5 {
		return "anybody of the crew"
	}
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, " or ")
}

// signerWords returns how one of those who may sign is told from the others: name, rank, and the role in which they
// would sign, if the rank does not say it.
func signerWords(p permits.Person, roles []permits.Role) string {
	words := p.String()
	if p.Rank != "" {
		words += ", " + p.Rank
	}
	for _, r := range roles {
		if p.Has(r) {
			if !strings.EqualFold(string(r), p.Rank) {
				words += ", " + string(r)
			}
			break
		}
	}
	return words
}

// RankOf returns somebody's rank, else their first role; "" for neither.
func RankOf(p permits.Person) string {
	if p.Rank != "" {
		return p.Rank
	}
	if len(p.Roles) > 0 {
		return string(p.Roles[0])
	}
	return ""
}
