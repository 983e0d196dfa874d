package permits

import "testing"

// TestWatchIsHandedOverByTwoSignatures hands a live permit over: between the two signatures nobody signs on, stopping
// and signing off are free, and afterwards the first officer's signature leads nothing on. (29 CFR
// 1910.147(f)(4) and DOE-STD-1030-96, 4.7: an orderly transfer from the off-going to the oncoming person, who signs a
// line of their own. That nothing leads on meanwhile is own reasoning.)
func TestWatchIsHandedOverByTwoSignatures(t *testing.T) {
	r := newRig(t)
	r.ship.People[otto.ID] = otto
	id := r.untilLive()
	r.refuses(id, otto, TakeWatch{}, "hand over")
	r.refuses(id, otto, Extend{Hours: 4}, "authorise")
	r.refuses(id, otto, OfferWatch{To: otto.ID}, "hand over")
	r.refuses(id, olga, OfferWatch{To: olga.ID}, "form")
	r.refuses(id, olga, OfferWatch{To: karim.ID}, "form")
	r.refuses(id, olga, OfferWatch{To: "nobody"}, "form")
	r.must(id, olga, OfferWatch{To: otto.ID, Words: "boiler is low"})
	if o, ok := r.permits[id].Offered(); !ok || o.To != otto.ID || o.Words != "boiler is low" ||
		r.permits[id].InHand() != olga.ID {
		t.Errorf("offered %+v %v, in the hands of %s; want it offered to Otto and still Olga's", o, ok,
			r.permits[id].InHand())
	}
	if n := WhatNext(r.setting(otto, TakeWatch{}), r.permits[id]); n[0].Kind != KindTakeWatch {
		t.Errorf("the permit waits for %+v first, want the oncoming officer", n[0])
	}
	r.refuses(id, ines, SignOn{}, "live")
	r.refuses(id, olga, Extend{Hours: 4}, "authorise")
	r.refuses(id, olga, TakeWatch{}, "hand over")
	r.must(id, tomas, SignOff{})
	r.must(id, karim, Suspend{Words: "fire drill"})
	r.refuses(id, olga, Resume{}, "resume")
	r.must(id, otto, TakeWatch{})
	r.refuses(id, olga, Resume{}, "resume")
	r.must(id, otto, Resume{})
	said := Tell(Names{Ship: r.ship, Permit: r.permits[id]}, Entry{By: olga.ID, Act: OfferWatch{To: otto.ID}})
	if said != "hands over to Otto" {
		t.Errorf("the offer is told as %q once it was taken, want as it was made", said)
	}
}

// TestAnOfferIsTakenBackOrMadeAnew is for an oncoming officer who does not come.
func TestAnOfferIsTakenBackOrMadeAnew(t *testing.T) {
	r := newRig(t)
	r.ship.People[otto.ID], r.ship.People[both.ID] = otto, both
	id := r.untilLive()
	r.must(id, olga, OfferWatch{To: otto.ID})
	r.must(id, olga, OfferWatch{To: olga.ID})
	r.refuses(id, otto, TakeWatch{}, "hand over")
	r.must(id, olga, Extend{Hours: 4})
	master := Person{ID: "mara", Name: "Mara", Roles: []Role{Master}}
	r.ship.People[master.ID] = master
	r.must(id, master, OfferWatch{To: both.ID, Words: "Olga is in the sick bay"})
	r.must(id, both, TakeWatch{})
	r.refuses(id, olga, Extend{Hours: 4}, "authorise")
	r.must(id, both, Extend{Hours: 4})
}

// TestWhoWorkedAtTheValvesTakesNoWatch keeps the two sides apart through a handover.
func TestWhoWorkedAtTheValvesTakesNoWatch(t *testing.T) {
	r := newRig(t)
	r.ship.People[both.ID], r.ship.People[otto.ID] = both, otto
	id := r.untilAuthorised()
	r.must(id, both, r.fit(id))
	r.refuses(id, olga, OfferWatch{To: both.ID}, "hand over")

	id = r.untilAuthorised()
	r.must(id, olga, OfferWatch{To: both.ID})
	r.must(id, both, TakeWatch{})
	r.refuses(id, both, r.fit(id), "fit lock")
}

// TestLocksAreTakenOverByCount changes the shift of who fitted the locks and of who is in charge: nothing moves before
// the other has counted rightly, and then the locks come off by the other's hand alone. (29 CFR 1910.147(f)(4).)
func TestLocksAreTakenOverByCount(t *testing.T) {
	r := newRig(t)
	r.ship.People[fitCrew.ID], r.ship.People[both.ID], r.ship.People[otto.ID] = fitCrew, both, otto
	id := r.untilLive()
	n := r.permits[id].OwnedBy(tomas.ID)
	tools := r.permits[id].ToolsOut()
	r.refuses(id, fitCrew, OfferWork{To: tomas.ID}, "shift")
	r.refuses(id, tomas, OfferWork{To: karim.ID}, "form")
	r.refuses(id, fitCrew, TakeWork{From: tomas.ID, Locks: n}, "shift")
	r.must(id, tomas, OfferWork{To: fitCrew.ID})
	r.refuses(id, both, TakeWork{From: tomas.ID, Locks: n}, "shift")
	r.refuses(id, fitCrew, TakeWork{From: tomas.ID, Locks: n - 1}, "shift")
	r.must(id, fitCrew, TakeWork{From: tomas.ID, Locks: n})
	if got := r.permits[id].OwnedBy(fitCrew.ID); got != n {
		t.Errorf("%d locks are the other's, want all %d", got, n)
	}
	r.handOver(id, olga, otto)
	r.refuses(id, otto, OfferWatch{To: fitCrew.ID}, "form")

	r.must(id, ines, OfferWork{To: tomas.ID})
	r.refuses(id, tomas, TakeWork{From: ines.ID, Tools: tools}, "shift") // who proved
	r.must(id, ines, OfferWork{To: fitCrew.ID})
	r.refuses(id, fitCrew, TakeWork{From: ines.ID, Tools: tools + 1}, "shift")
	r.must(id, fitCrew, TakeWork{From: ines.ID, Tools: tools})
	r.refuses(id, ines, HandBack{ToolsBack: tools, GuardsBack: true}, "hand back")
	for _, who := range r.permits[id].SignedOn() {
		r.must(id, personOf(who), SignOff{})
	}
	r.must(id, fitCrew, HandBack{ToolsBack: tools, GuardsBack: true})
	r.between(id)
	r.refuses(id, tomas, r.remove(id), "remove lock")
	r.must(id, fitCrew, r.remove(id))
}

// TestReleasedOwnerIsToldBeforeSigning releases the locks of a fitter who sleeps while the work is on. (29 CFR
// 1910.147(e)(3)(iii): the employee knows it before resuming work.)
func TestReleasedOwnerIsToldBeforeSigning(t *testing.T) {
	r := newRig(t)
	r.ship.People[fitCrew.ID] = fitCrew
	id := r.untilLive()
	r.must(id, chief, r.released(tomas))
	r.refuses(id, tomas, OfferWork{To: fitCrew.ID}, "shift")
	r.must(id, tomas, SignOff{})
	r.refuses(id, tomas, SignOn{}, "live")
	if _, err := DecideShip(r.setting(ines, HearRelease{}), HearRelease{}); err == nil {
		t.Error("somebody whose locks were not released confirmed it")
	}
	r.hear(tomas)
	r.must(id, tomas, SignOn{})
}
