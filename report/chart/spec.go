package chart

// Spec is everything that one strip chart shows.
type Spec struct {
	// ID begins the id of every element that needs one; it must be unique in
	// the page and hold letters, digits and hyphens only.
	ID string
	// Title names the picture; Description is its text alternative.
	Title, Description string
	From, To           float64 // s, the shared time axis
	Strips             []Strip
	Rules              []Rule
	Width              float64 // px of the whole picture; 0 means 960
}

// Strip is one panel of the chart: lines over a common value axis, or bars.
// A strip without any sample is drawn with the words of Empty.
type Strip struct {
	Title  string
	Unit   string  // "" for bars
	Height float64 // px of the panel; 0 means 84; bars bring their own height
	// MinSpan is the least extent of the value axis, so that the noise of a
	// quantity at rest is not blown up to the size of an event.
	MinSpan float64
	Lines   []Line
	Levels  []Level
	Bands   []BandArea
	Bars    []Bar
	Empty   string
}

// Line is one quantity over time.
type Line struct {
	Label  string // at the right end; short
	Points []Point
}

// Point is one sample. A masked one is drawn hollow and never joined; a
// Break says that the time before it is a gap, which is not bridged either.
type Point struct {
	T, V   float64
	Masked bool
	Break  bool
}

// Level is a horizontal line at a value, such as a threshold.
type Level struct {
	V     float64
	Label string
}

// BandArea is a shaded band of values. An infinite edge reaches the edge of
// the panel.
type BandArea struct {
	Low, High float64
	Label     string
}

// Bar is one discrete over time, drawn on a row of its own.
type Bar struct {
	Label string
	Spans []BarSpan
}

// BarSpan is a stretch in one state. Quiet states are a thin line, the others
// a bar with their name; a masked stretch is hollow.
type BarSpan struct {
	From, To float64
	State    string
	Quiet    bool
	Masked   bool
}

// Rule is an instant, drawn through all strips, with the bracket that the
// samples leave around it.
type Rule struct {
	At, Earliest, Latest float64
	Label                string
	Strong               bool // the origin of the time axis
}
