package screens

import "stillwatch/isolation"

// RequestPage chooses machine and job, shows the plan at once, and requests a permit by it.
type RequestPage struct {
	Frame
	Machines []machineJobs
	Job      string // chosen; "": none yet
	Plan     *planView
	Hash     string // of the plan that is shown
	NoPlant  bool
	Fault    string // why there is no plan, in a sentence
	May      bool   // whoever reads this may request
}

// machineJobs is one machine with the jobs that the plant file names for it.
type machineJobs struct {
	ID, Name string
	Jobs     []isolation.Job
	Open     bool
}

// JobsByMachine returns every machine that has jobs, in the plant file's order; jobs of no machine come last.
func JobsByMachine(plant *isolation.Plant, chosen string) []machineJobs {
	var out []machineJobs
	add := func(id, name string) {
		m := machineJobs{ID: id, Name: name}
		for _, j := range plant.Jobs {
			if j.Machine == id {
				m.Jobs = append(m.Jobs, j)
				m.Open = m.Open || j.ID == chosen
			}
		}
		if len(m.Jobs) > 0 {
			out = append(out, m)
		}
	}
	for _, m := range plant.Machines {
		add(m.ID, m.Name)
	}
	add("", "Other work")
	return out
}
