package chart

import _ "embed"

// TrendStyle is the style sheet of the pictures over months, of intervals and
// of needles; it goes after Style, on which it rests.
//
//go:embed trend.css
var TrendStyle string
