package permits

import (
	"reflect"
	"testing"
	"time"
	"unsafe"
)

// TestNoTimeOfAPermitStaysAhead puts the clock right while people are inside: of all that the permit keeps, whatever it
// is called, nothing stands later than now, since a wait that begins in the future ends too late or never.
func TestNoTimeOfAPermitStaysAhead(t *testing.T) {
	r := newRig(t)
	r.peopleIn()
	r.behind = 3 * time.Hour
	if err := r.putClockRight(chief); err != nil {
		t.Fatal(err)
	}
	p := r.permits[1]
	if p.State() != Suspended || len(p.Inside()) != 2 {
		t.Errorf("the permit is %s with %d inside, want it suspended with 2", p.State(), len(p.Inside()))
	}
	wanted := 0
	eachTime(reflect.ValueOf(&p).Elem(), "permit", func(path string, at time.Time) {
		wanted++
		if at.After(r.at) && path != "permit.signatures" {
			t.Errorf("%s is %s, and it is %s now", path, at, r.at)
		}
	})
	if wanted < 30 {
		t.Errorf("%d times were looked at: the test looks at too little", wanted)
	}
}

// eachTime calls look with every time that a value holds. Plan and signatures are what was signed, and stay.
func eachTime(v reflect.Value, path string, look func(path string, at time.Time)) {
	if v.CanAddr() && !v.CanInterface() {
		v = reflect.NewAt(v.Type(), unsafe.Pointer(v.UnsafeAddr())).Elem()
	}
	switch v.Kind() {
	case reflect.Struct:
		if at, is := v.Interface().(time.Time); is {
			look(path, at)
			return
		}
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "plan" && name != "signatures" {
				eachTime(v.Field(i), path+"."+name, look)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachTime(v.Index(i), path, look)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			eachTime(v.Elem(), path, look)
		}
	}
}
