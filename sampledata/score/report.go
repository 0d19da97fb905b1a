package score

// Report is the comparison of a batch with its truth.
type Report struct {
	Files    int `json:"files"`    // recordings in the truth
	Attempts int `json:"attempts"` // attempts in the truth, optional ones not counted
	Found    int `json:"found"`    // of these, matched
	Missed   int `json:"missed"`   // of these, not matched
	Invented int `json:"invented"` // found where the truth has none
	Optional int `json:"optional"` // optional attempts in the truth
	Unread   int `json:"unread"`   // recordings of the truth without a summary
	Unknown  int `json:"unknown"`  // summaries of recordings without truth

	Kinds     []Kind     `json:"kinds"`     // in order of name
	Measures  []Measure  `json:"measures"`  // in the order of an attempt
	Scenarios []Scenario `json:"scenarios"` // in order of name
	// Differences are everything that is not as in the truth, in the order
	// of the truth; Worst the largest errors of each measure.
	Differences []Difference `json:"differences"`
	Worst       []Case       `json:"worst"`
}

// Kind is the account of one kind of statement: one check, the warning, the
// outcome, and so on.
type Kind struct {
	Name        string `json:"name"`
	Hits        int    `json:"hits"`         // said as it is, and there was something to say
	Quiet       int    `json:"quiet"`        // rightly nothing
	Misses      int    `json:"misses"`       // there was something, said there is not
	FalseAlarms int    `json:"false_alarms"` // there was nothing, said there is
	WrongUntold int    `json:"wrong_untold"` // "cannot be told", and the data can tell
	Guessed     int    `json:"guessed"`      // said, and the data cannot tell
	RightUntold int    `json:"right_untold"` // "cannot be told", and so it is
	Open        int    `json:"open"`         // the truth takes no stand
}

// Wrong is how many statements of the kind are not as in the truth.
func (k *Kind) Wrong() int { return k.Misses + k.FalseAlarms + k.WrongUntold + k.Guessed }

// Measure is the error distribution of one instant or measure, over matched
// attempts on which truth and summary both have it. Errors are absolute, in
// Unit. With N zero the figures mean nothing and are zero.
type Measure struct {
	Name    string  `json:"name"`
	Unit    string  `json:"unit"`
	N       int     `json:"n"`
	P50     float64 `json:"p50"`
	P95     float64 `json:"p95"`
	P99     float64 `json:"p99"`
	Max     float64 `json:"max"`
	Missing int     `json:"missing"` // the truth has it and the summary has not
	Extra   int     `json:"extra"`   // the summary has it and the truth has not
	// Brackets is on how many the summary states a bracket, Held on how many
	// of these the truth lies in it, Width the median width.
	Brackets int     `json:"brackets"`
	Held     int     `json:"held"`
	Width    float64 `json:"median_width"`
}

// Scenario is the account of one scenario of the truth.
type Scenario struct {
	Name     string `json:"name"`
	Attempts int    `json:"attempts"`
	Right    int    `json:"right"` // attempts, and files without one, without any difference
}

// Difference is one statement that is not as in the truth.
type Difference struct {
	File     string  `json:"file"`
	Attempt  int     `json:"attempt"` // of the truth; 0 for an invented one
	Second   float64 `json:"second"`
	What     string  `json:"what"`
	Want     string  `json:"want"`
	Got      string  `json:"got"`
	Scenario string  `json:"scenario"`
}

// Case is one error of a measure.
type Case struct {
	Measure  string  `json:"measure"`
	File     string  `json:"file"`
	Attempt  int     `json:"attempt"`
	Second   float64 `json:"second"`
	Want     float64 `json:"want"`
	Got      float64 `json:"got"`
	Scenario string  `json:"scenario"`
}

// Perfect says whether every statement is as in the truth. Errors of measures
// do not count here; see Targets.
func (r *Report) Perfect() bool { return len(r.Differences) == 0 && r.Unread == 0 }

// Target is one bound that the errors have to keep.
type Target struct {
	Name string  `json:"name"`
	Want float64 `json:"want"`
	Got  float64 `json:"got"`
	Met  bool    `json:"met"`
}

// Targets are the bounds on errors, with what was reached: roll start, thrust
// cut and first action 0.5 s at p95 and 1 s at p99; peak ground speed 1 kt at
// p99; distances 5 m or 1 % at p95, counted by the errors beyond both; the
// stated brackets hold the truth in 99 of 100.
func (r *Report) Targets() []Target {
	var out []Target
	add := func(name string, got, want float64, met bool) {
		out = append(out, Target{Name: name, Want: want, Got: got, Met: met})
	}
	for i := range r.Measures {
		m := &r.Measures[i]
		if m.N == 0 {
			continue
		}
		switch m.Name {
		case "roll start", "thrust cut", "first action":
			add(m.Name+" p95, s", m.P95, 0.5, m.P95 <= 0.5)
			add(m.Name+" p99, s", m.P99, 1, m.P99 <= 1)
		case "peak ground speed":
			add(m.Name+" p99, kt", m.P99, 1, m.P99 <= 1)
		case "distance to cut beyond 5 m and 1 %", "distance to stop beyond 5 m and 1 %":
			add(m.Name+" p95, m", m.P95, 0, m.P95 <= 0)
		}
		if m.Brackets > 0 {
			share := 100 * float64(m.Held) / float64(m.Brackets)
			add(m.Name+" bracket holds, %", share, 99, share >= 99)
		}
	}
	return out
}
