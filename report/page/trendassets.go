package page

import (
	_ "embed"
	"html/template"

	"rollonset/report/chart"
)

//go:embed assets/trends.css
var trendStyle string

//go:embed assets/trends.js
var trendScript string

// trendShell is the shell of pages with pictures over months: the style and
// script of the others and their own.
func trendShell(title string) shell {
	style, script := pageStyle+chart.Style+chart.TrendStyle+trendStyle, nightScript+trendScript
	return shell{Title: title, Policy: policy(style, script), Style: template.CSS(style), Script: template.JS(script)}
}
