package flightdata

import (
	"time"

	"rollonset/ingest/span"
)

// The JSON of a clip's metadata. The types repeat those above field by field,
// so that a field added there does not compile until it is written here; the
// conversions between them ignore the tags and nothing else.
type (
	clipJSON struct {
		Schema      int          `json:"schema"`
		Source      clipSource   `json:"source"`
		Profile     ClipProfile  `json:"profile"`
		Detection   string       `json:"detection"`
		Identity    clipIdentity `json:"identity"`
		Start       string       `json:"start_utc"`
		ClockOrigin int64        `json:"clock_origin_ns"`
		Clock       string       `json:"clock"`
		Span        clipSpan     `json:"span"`
		Windows     []clipSpan   `json:"windows"`
		Plan        *clipPlan    `json:"plan"`
		Life        []clipLife   `json:"life"`
		Notes       []clipNote   `json:"notes"`
		Masks       []string     `json:"masks"` // the names of the mask numbers, in order
		Columns     []clipColumn `json:"columns"`
		// A map is written in the order of its keys; left out when empty.
		Doubted map[Parameter]string `json:"doubted,omitempty"`
		Unread  []clipSpan           `json:"unread,omitempty"`
	}
	clipSource struct {
		Path    string `json:"file"`
		SHA256  string `json:"sha256"`
		Bytes   int64  `json:"bytes"`
		Format  string `json:"format"`
		Rows    int64  `json:"rows"`
		Columns int    `json:"columns"`
		Used    int    `json:"columns_used"`
	}
	clipIdentity struct {
		Tail      string `json:"tail"`
		Type      string `json:"type"`
		Flight    string `json:"flight"`
		Aerodrome string `json:"aerodrome"`
		Runway    string `json:"runway"`
		Date      string `json:"date"`
		From      string `json:"from"`
	}
	clipSpan struct {
		From span.Instant `json:"from_ns"`
		To   span.Instant `json:"to_ns"`
	}
	clipPlan struct {
		List          string `json:"list"`
		Line          int    `json:"line"`
		Entry         string `json:"entry"`
		PlannedFlap   *exact `json:"planned_flap"`
		V1            *exact `json:"v1_kt"`
		VR            *exact `json:"vr_kt"`
		Weight        *exact `json:"weight_kg"`
		CG            *exact `json:"cg_percent"`
		Trim          *exact `json:"trim"`
		RunwayLengthM *exact `json:"runway_m"`
	}
	clipLife struct {
		Parameter Parameter `json:"parameter"`
		Samples   int       `json:"samples"`
		States    []string  `json:"states"`
		Lo        exact     `json:"lowest"`
		Hi        exact     `json:"highest"`
		// Masked counts samples by the name of their mask, in name order; left
		// out when there are none.
		Masked map[string]int `json:"masked,omitempty"`
	}
	clipNote struct {
		Place string `json:"place"`
		Text  string `json:"text"`
	}
	clipColumn struct {
		Parameter Parameter     `json:"parameter"`
		Kind      string        `json:"kind"`
		Unit      string        `json:"unit"`
		States    []string      `json:"states"`
		Period    time.Duration `json:"period_ns"`
		Names     []string      `json:"recorded_names"`
		Recorded  string        `json:"recorded_unit"`
		Circular  bool          `json:"circular"`
		Masked    bool          `json:"masked"`
		ReadWhole bool          `json:"read_whole,omitempty"`
	}
)
