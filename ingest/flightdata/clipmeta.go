package flightdata

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// The names by which a clip is recognised and laid out. A clip is a Parquet
// file with one column ClipTime, INT64 nanoseconds since the start of the
// original recording, and an optional column per parameter under its
// canonical name: DOUBLE for a continuous one, a word for a discrete one.
// Where a parameter has a masked sample, a further INT32 column, the name and
// ClipMaskSuffix, holds the mask of every sample. Everything else that
// detection needs lies as JSON under ClipKey in the file's metadata.
const (
	ClipKey        = "rollonset.clip"
	ClipTime       = "time"
	ClipMaskSuffix = ".mask"
)

// ClipSchema is the version of the layout of a clip and of its metadata. A
// reader must refuse a number that it does not know.
const ClipSchema = 1

// ClipMeta is what a clip carries beside its samples: all that a Recording
// holds and the columns do not, and which judgement the clip was cut for.
// Its JSON is canonical: the same ClipMeta gives the same bytes.
type ClipMeta struct {
	Source      Source // of the original recording; Path is a base name
	Identity    Identity
	Start       time.Time
	ClockOrigin int64
	Clock       string
	Span        span.Span
	Windows     span.Set
	Life        map[Parameter]Life
	Plan        *Plan // List is a base name
	Notes       []Note
	Columns     []ClipColumn // in name order
	Doubted     map[Parameter]string
	Unread      span.Set
	// Profile and Detection name what judged the recording; both zero for a
	// clip that was cut without a judgement.
	Profile   ClipProfile
	Detection string
}

// ClipProfile names the profile that the clip was judged with.
type ClipProfile struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	SHA256  string `json:"sha256"`
}

// ClipColumn is a Series without its samples. Masked says that the file has a
// mask column for it; without one every sample is good.
type ClipColumn struct {
	Parameter Parameter
	Kind      Kind
	Unit      unit.Unit
	States    []string
	Period    time.Duration
	Origin    Origin
	Circular  bool
	Masked    bool
	// ReadWhole says that its samples were read in the Unread stretches too.
	ReadWhole bool
}

// ClipMeta describes the recording as a clip, without the samples. Paths are
// cut to base names, because the folder that a file lay in is no part of the
// result and would make the bytes of a clip depend on the machine.
func (r *Recording) ClipMeta() ClipMeta {
	m := ClipMeta{
		Source: r.Source, Identity: r.Identity, Start: r.Start, ClockOrigin: r.ClockOrigin,
		Clock: r.Clock, Span: r.Span, Windows: r.Windows, Life: r.Life, Notes: r.Notes,
		Doubted: r.Doubted, Unread: r.Unread,
	}
	m.Source.Path = baseName(r.Source.Path)
	if r.Plan != nil {
		plan := *r.Plan
		plan.List = baseName(plan.List)
		m.Plan = &plan
	}
	for _, p := range r.Parameters() {
		s := r.Series[p]
		masked := slices.ContainsFunc(s.Masks, func(m Mask) bool { return m != Good })
		m.Columns = append(m.Columns, ClipColumn{
			Parameter: p, Kind: s.Kind, Unit: s.Unit, States: s.States,
			Period: s.Period, Origin: s.Origin, Circular: s.Circular, Masked: masked,
			ReadWhole: len(r.Unread) > 0 && len(s.Unread) == 0,
		})
	}
	return m
}

// Restore puts the samples that were read from a clip back into a recording.
// A series need hold only Times, Values and Masks; the rest is filled in.
// Columns for which no series is given were not read and are left out; their
// proof of life stays, because it was seen on the whole recording.
func (m ClipMeta) Restore(series map[Parameter]*Series) *Recording {
	r := &Recording{
		Source: m.Source, Identity: m.Identity, Start: m.Start, ClockOrigin: m.ClockOrigin,
		Clock: m.Clock, Span: m.Span, Windows: m.Windows, IsClip: true,
		Series: make(map[Parameter]*Series, len(series)), Life: m.Life, Plan: m.Plan, Notes: m.Notes,
		Doubted: m.Doubted, Unread: m.Unread,
	}
	for _, c := range m.Columns {
		s, ok := series[c.Parameter]
		if !ok {
			continue
		}
		r.Series[c.Parameter] = &Series{
			Parameter: c.Parameter, Kind: c.Kind, Unit: c.Unit, States: c.States,
			Times: s.Times, Values: s.Values, Masks: s.Masks,
			Period: c.Period, Origin: c.Origin, Circular: c.Circular,
		}
		if !c.ReadWhole {
			r.Series[c.Parameter].Unread = m.Unread
		}
	}
	return r
}

// Word is the text that a clip holds for a value of a discrete: the name of
// the state or, for a masked value that is no state, "?" and the number, so
// that nothing is lost. More question marks keep it apart from a state that
// is itself named so.
func (c ClipColumn) Word(v float64) string {
	i := int(v)
	if v == float64(i) && i >= 0 && i < len(c.States) && slices.Index(c.States, c.States[i]) == i {
		return c.States[i]
	}
	word := "?" + strconv.FormatFloat(v, 'g', -1, 64)
	for slices.Contains(c.States, word) {
		word = "?" + word
	}
	return word
}

// Value is the value behind a word that Word made. Any other word is an
// error: the clip is damaged or was not written by this program.
func (c ClipColumn) Value(word string) (float64, error) {
	if i := slices.Index(c.States, word); i >= 0 {
		return float64(i), nil
	}
	if number := strings.TrimLeft(word, "?"); number != word {
		if v, err := strconv.ParseFloat(number, 64); err == nil {
			return v, nil
		}
	}
	return 0, fmt.Errorf("column %s: %q is none of its states (%s); the clip is damaged", c.Parameter, word, strings.Join(c.States, ", "))
}

// baseName is the last element of a path of any system.
func baseName(p string) string { return p[strings.LastIndexAny(p, `/\`)+1:] }

// ParseClipMeta reads the metadata of a clip. It refuses an unknown layout,
// an unknown key, unit, kind or mask, and says which.
func ParseClipMeta(text []byte) (ClipMeta, error) {
	var m ClipMeta
	if err := json.Unmarshal(text, &m); err != nil {
		return ClipMeta{}, fmt.Errorf("metadata %s: %w", ClipKey, err)
	}
	return m, nil
}

// MarshalJSON writes the metadata: keys in the order of clipJSON, lists never
// null, characters of HTML not escaped.
func (m ClipMeta) MarshalJSON() ([]byte, error) {
	w := clipJSON{
		Schema: ClipSchema, Source: clipSource(m.Source), Profile: m.Profile, Detection: m.Detection,
		Identity: clipIdentity(m.Identity), ClockOrigin: m.ClockOrigin, Clock: m.Clock,
		Span: clipSpan(m.Span), Windows: []clipSpan{}, Life: []clipLife{}, Notes: []clipNote{},
		Masks: maskNames(), Columns: []clipColumn{}, Doubted: m.Doubted,
	}
	if !m.Start.IsZero() {
		w.Start = m.Start.UTC().Format(time.RFC3339Nano)
	}
	if p := m.Plan; p != nil {
		w.Plan = &clipPlan{
			p.List, p.Line, p.Entry, (*exact)(p.PlannedFlap), (*exact)(p.V1), (*exact)(p.VR), (*exact)(p.Weight),
			(*exact)(p.CG), (*exact)(p.Trim), (*exact)(p.RunwayLengthM),
		}
	}
	for _, s := range m.Windows {
		w.Windows = append(w.Windows, clipSpan(s))
	}
	for _, s := range m.Unread {
		w.Unread = append(w.Unread, clipSpan(s))
	}
	for p, l := range m.Life {
		w.Life = append(w.Life, clipLife{p, l.Samples, append([]string{}, l.States...), exact(l.Lo), exact(l.Hi), maskCounts(l.Masked)})
	}
	slices.SortFunc(w.Life, func(a, b clipLife) int { return strings.Compare(string(a.Parameter), string(b.Parameter)) })
	for _, n := range m.Notes {
		w.Notes = append(w.Notes, clipNote(n))
	}
	for _, c := range m.Columns {
		w.Columns = append(w.Columns, clipColumn{
			c.Parameter, kindNames[c.Kind], c.Unit.Symbol, append([]string{}, c.States...), c.Period,
			append([]string{}, c.Origin.Names...), c.Origin.Unit, c.Circular, c.Masked, c.ReadWhole,
		})
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(w)
	return bytes.TrimSpace(b.Bytes()), err
}

// UnmarshalJSON reads what MarshalJSON wrote; see ParseClipMeta.
func (m *ClipMeta) UnmarshalJSON(text []byte) error {
	var probe struct {
		Schema int `json:"schema"`
	}
	if err := json.Unmarshal(text, &probe); err != nil {
		return err
	}
	if probe.Schema != ClipSchema {
		return fmt.Errorf("layout %d of the clip is not known here (known: %d); read it with the version of the program that wrote it", probe.Schema, ClipSchema)
	}
	var w clipJSON
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&w); err != nil {
		return err
	}
	return m.fill(w)
}

// fill checks what was read and turns it back into the nouns. An empty list
// becomes nil again, as the nouns have it.
func (m *ClipMeta) fill(w clipJSON) error {
	// Masks are only ever added at the end, so that an older clip, which knows
	// fewer of them, means the same by the numbers that it has.
	if known := maskNames(); len(w.Masks) == 0 || len(w.Masks) > len(known) || !slices.Equal(w.Masks, known[:len(w.Masks)]) {
		return fmt.Errorf("the masks of the clip are %q, this program knows %q; read it with the version of the program that wrote it", w.Masks, known)
	}
	*m = ClipMeta{
		Source: Source(w.Source), Identity: Identity(w.Identity), ClockOrigin: w.ClockOrigin, Clock: w.Clock,
		Span: span.Span(w.Span), Life: map[Parameter]Life{}, Profile: w.Profile, Detection: w.Detection,
		Doubted: w.Doubted,
	}
	if w.Start != "" {
		start, err := time.Parse(time.RFC3339Nano, w.Start)
		if err != nil {
			return fmt.Errorf("start_utc: %w", err)
		}
		m.Start = start.UTC()
	}
	if p := w.Plan; p != nil {
		m.Plan = &Plan{
			p.List, p.Line, p.Entry, (*float64)(p.PlannedFlap), (*float64)(p.V1), (*float64)(p.VR), (*float64)(p.Weight),
			(*float64)(p.CG), (*float64)(p.Trim), (*float64)(p.RunwayLengthM),
		}
	}
	for _, s := range w.Windows {
		m.Windows = append(m.Windows, span.Span(s))
	}
	m.Windows = span.Of(m.Windows...) // in order and without overlap, whatever was read
	for _, s := range w.Unread {
		m.Unread = append(m.Unread, span.Span(s))
	}
	m.Unread = span.Of(m.Unread...)
	for _, l := range w.Life {
		life := Life{Samples: l.Samples, States: append([]string(nil), l.States...), Lo: float64(l.Lo), Hi: float64(l.Hi)}
		for name, n := range l.Masked {
			mask := slices.Index(maskNames(), name)
			if mask <= 0 {
				return fmt.Errorf("life of %s: %q is no mask", l.Parameter, name)
			}
			life.Masked[mask] = n
		}
		m.Life[l.Parameter] = life
	}
	for _, n := range w.Notes {
		m.Notes = append(m.Notes, Note(n))
	}
	return m.fillColumns(w.Columns)
}

func (m *ClipMeta) fillColumns(columns []clipColumn) error {
	seen := map[Parameter]bool{}
	for _, c := range columns {
		kind := slices.Index(kindNames[:], c.Kind)
		u, err := unit.Parse(c.Unit)
		switch {
		case seen[c.Parameter]:
			return fmt.Errorf("column %s is described twice", c.Parameter)
		case kind < 0:
			return fmt.Errorf("column %s: unknown kind %q; known kinds: %s", c.Parameter, c.Kind, strings.Join(kindNames[:], ", "))
		case c.Period < 0:
			return fmt.Errorf("column %s: period of %d ns is negative", c.Parameter, c.Period)
		case err != nil:
			return fmt.Errorf("column %s: %w", c.Parameter, err)
		}
		seen[c.Parameter] = true
		m.Columns = append(m.Columns, ClipColumn{
			Parameter: c.Parameter, Kind: Kind(kind), Unit: u, States: append([]string(nil), c.States...), Period: c.Period,
			Origin: Origin{Names: append([]string(nil), c.Names...), Unit: c.Recorded}, Circular: c.Circular, Masked: c.Masked,
			ReadWhole: c.ReadWhole,
		})
	}
	return nil
}

// kindNames are the words for Kind in a clip, by its number.
var kindNames = [...]string{Continuous: "continuous", Discrete: "discrete"}

func maskNames() []string {
	names := make([]string, Masks)
	for m := range names {
		names[m] = Mask(m).String()
	}
	return names
}

// maskCounts are the counts that are not zero, by the name of the mask.
func maskCounts(counts [Masks]int) map[string]int {
	out := map[string]int{}
	for m, n := range counts {
		if mask := Mask(m); mask != Good && n > 0 {
			out[mask.String()] = n
		}
	}
	return out
}
