// Package chart draws pictures as SVG with the standard library: here the
// strip chart of one takeoff attempt. It knows no archive and no recording;
// a caller fills a Spec with numbers and words and gets text back.
//
//  1. Fill a [Spec]: the time axis in seconds, strips of lines, bands and
//     bars, rules at instants.
//  2. Call [Strips]. The same Spec gives the same bytes.
//  3. Put [Style] once into the page. Colours, dashes, dark mode and print
//     live in its classes, so a picture never names a colour itself.
//  4. A cursor reads the mapping between seconds and pixels from the data
//     attributes of the svg element; [Axis] is the same mapping in Go.
package chart
