package truth

// The words of the outcome column. They are those of takeoff.Outcome; a test
// holds the two lists together, so that the truth need not import a detector.
const (
	Airborne       = "airborne"
	Rejected       = "rejected"
	RejectedNoRoll = "rejected before the roll"
	TouchAndGo     = "touch-and-go"
	Undetermined   = "undetermined"
)

// The words of the warning column, those of configuration.Verdict.
const (
	WarnBoth      = "both"
	WarnNeither   = "neither"
	WarnCondition = "condition only"
	WarnOnly      = "warning only"
	WarnUnknown   = "cannot be told"
)

// The words of the reject_class column, those of reject.Measures.Class.
const (
	BeforeRoll = "before the roll"
	LowSpeed   = "low-speed"
	HighSpeed  = "high-speed"
	// EitherClass is of a cut whose samples lie on both sides of the boundary.
	EitherClass = "low-speed or high-speed"
)

// The words of the against_v1 column.
const (
	BeforeV1 = "before V1"
	AfterV1  = "after V1"
)

// The kinds of look-alike, those of takeoff.LookAlike.
const (
	RunUp       = "run-up"
	TaxiBurst   = "taxi burst"
	LandingRoll = "landing roll"
	TooShort    = "too short"
)

// Attempt is one row of truth.csv: what really happened in one takeoff
// attempt, or, with Number 0, that the file holds none. A NaN time, speed or
// distance did not happen, or not before the data ended.
type Attempt struct {
	File     string // base name of the recording
	Number   int    // from 1 in time order; 0: the file holds no attempt
	Optional bool   // finding it and not finding it are both right
	Outcome  string // "" for Number 0
	Rolling  bool

	// Seconds since the first sample of the file.
	ThrustAdvance, Onset, RollStart, Rotation, LiftOff float64
	ThrustCut, FirstAction, Peak, Stop                 float64
	FirstActionBy                                      string  // "thrust", "brakes", "speedbrake", "reverse"
	PeakGroundSpeed, GroundSpeedAtCut                  float64 // kt
	DistanceToCut, DistanceToStop                      float64 // m from roll start
	Out, OutAtOnset, Untold, Open                      []string
	Warning, RejectClass, AgainstV1                    string
	LookAlikes                                         []LookAlike // on the first row of a file only
	Scenario, Notes                                    string
}

// LookAlike is advanced thrust on the ground that is no takeoff attempt,
// with its span in seconds since the first sample.
type LookAlike struct {
	Kind     string
	From, To float64
}

// From and Till bound the attempt in time: its first and last known instant,
// in seconds. Both are NaN when none is known.
func (a *Attempt) From() float64 {
	return edge(a.times(), func(t, best float64) bool { return t < best })
}

// Till is the last known instant of the attempt; see From.
func (a *Attempt) Till() float64 {
	return edge(a.times(), func(t, best float64) bool { return t > best })
}

func (a *Attempt) times() []float64 {
	return []float64{
		a.ThrustAdvance, a.Onset, a.RollStart, a.Rotation, a.LiftOff,
		a.ThrustCut, a.FirstAction, a.Peak, a.Stop,
	}
}

// edge is the time that is better than all others, skipping NaN.
func edge(times []float64, better func(t, best float64) bool) float64 {
	best := nan
	for _, t := range times {
		if t == t && (best != best || better(t, best)) {
			best = t
		}
	}
	return best
}
