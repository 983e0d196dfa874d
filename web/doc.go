// Package web knows the pages: what each shows, which form posts what, who may open it, how it looks at a desk on a
// night bridge and on a phone in a gloved hand. It reads forms into acts of package permits, hands them to the register
// and shows the answer.
//
// It must not know the rules: whether an act may happen is said by the register alone, and a page only foretells it.
// It makes no query of its own and never touches the database. A GET never changes the record; every form carries the
// id of its act, so that a double post happens once.
//
// Begin with routes.go, which is the list of everything that answers, then with one screen, for instance tag.go and
// screens/tag.go.
package web
