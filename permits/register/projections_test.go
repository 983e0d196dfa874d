package register

import (
	"database/sql"
	"reflect"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// eachOther gives, for every field of a value, the value with that field changed.
func eachOther[T any](t *testing.T, of T, f func(field string, other T)) {
	t.Helper()
	for i := range reflect.TypeFor[T]().NumField() {
		other := of
		switch v := reflect.ValueOf(&other).Elem().Field(i); v.Kind() {
		case reflect.String:
			v.SetString(v.String() + "x")
		case reflect.Int, reflect.Int64:
			v.SetInt(v.Int() + 1)
		case reflect.Bool:
			v.SetBool(!v.Bool())
		case reflect.Slice:
			v.Set(reflect.MakeSlice(v.Type(), v.Len()+1, v.Len()+1))
		default:
			t.Fatalf("a field of kind %s: teach the test to change it", v.Kind())
		}
		f(reflect.TypeFor[T]().Field(i).Name, other)
	}
}

func everyFieldCounts[R comparable](t *testing.T, row R) {
	t.Helper()
	p := newProjections()
	want := hash(p, row)
	eachOther(t, row, func(field string, other R) {
		if hash(p, other) == want {
			t.Errorf("%T: the hash is the same with another %s", row, field)
		}
	})
	if hash(p, row) != want {
		t.Errorf("%T: the hash is not the same twice", row)
	}
}

func TestEveryColumnIsInTheHashOfARow(t *testing.T) {
	everyFieldCounts(t, store.PointRow{Point: "V1", N: 3})
	everyFieldCounts(t, store.CodeRow{Digest: "d", Code: "c", Kind: "k", Permit: 1, Step: 2, Point: "V1", Issued: 3})
	everyFieldCounts(t, store.PermitRow{ID: 1, State: "live", Job: "j", Machine: "m", Locks: 4, LastEntry: 9})
	p := newProjections()
	if a, b := (store.CodeRow{Digest: "ab", Code: "c"}), (store.CodeRow{Digest: "a", Code: "bc"}); hash(p, a) == hash(p,
		b) {
		t.Errorf("hash(%+v) = hash(%+v), want them apart", a, b)
	}
}

func TestEveryColumnOfThePermitsIsCompared(t *testing.T) {
	a := busy(t)
	var columns []string
	beside := a.raw()
	err := beside.Raw("SELECT name FROM pragma_table_info('permits')").Scan(&columns).Error
	if pool, e := beside.DB(); e != nil || pool.Close() != nil { // an open pool would keep the write-ahead log
		t.Fatal(e)
	}
	if err != nil || len(columns) != reflect.TypeFor[store.PermitRow]().NumField() {
		t.Fatalf("the table permits has the columns %q, %v, want one for each field of its row", columns, err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for _, column := range columns {
		touched := copyOf(t, a.dir)
		tamper(t, touched, func(db *sql.DB) error {
			// longer by a letter, or a digit
			_, err := db.Exec("UPDATE permits SET " + column + " = " + column + " || '7' WHERE id = 1")
			return err
		})
		if r := verified(t, touched); r.OK() {
			t.Errorf("Verify(another %s) found nothing", column)
		}
	}
}

func TestEverythingOfAPersonIsComparedWithTheSignature(t *testing.T) {
	who := permits.Person{ID: "mate", Name: "Mate", Rank: "2nd", Roles: []permits.Role{permits.Technician}}
	if !samePerson(who, who) {
		t.Error("samePerson(p, p) = false, want true")
	}
	eachOther(t, who, func(field string, other permits.Person) {
		if samePerson(who, other) {
			t.Errorf("samePerson() = true with another %s, want false", field)
		}
	})
}

// A replay brings its permits on in place; a state forked from it keeps its own all the same.
func TestForkOfAReplayStaysWhereItIs(t *testing.T) {
	a := busy(t)
	entries, err := a.Entries(t.Context(), EntryQuery{After: new(int64(-1)), Limit: 1000})
	if err != nil {
		t.Fatal(err)
	}
	p := NewReplay()
	var forks []*state
	var states []permits.State
	for _, e := range entries {
		if _, err := p.Next(e); err != nil {
			t.Fatal(err)
		}
		forks, states = append(forks, p.state.fork()), append(states, p.state.permit(1).State())
	}
	for i, w := range forks {
		if got := w.permit(1).State(); got != states[i] {
			t.Errorf("the fork after entry %d has permit 1 %s, want %s", i, got, states[i])
		}
	}
}
