package archive

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
)

// FigureRow is one figure of the trends in tidy form: what it is of, the
// months that it covers, its counts and denominator, its value and interval.
// A figure without counts, such as a percentile, has a Measured count; NaN
// and infinity are null in Parquet and empty in CSV.
type FigureRow struct {
	Kind     string   `parquet:"kind,dict"`           // check, reject or measure
	Series   string   `parquet:"series,dict"`         // name of the check, class or measure
	Figure   string   `parquet:"figure,dict"`         // "rate", "median", …
	By       string   `parquet:"by,optional,dict"`    // way of grouping, "" for the fleet
	Group    string   `parquet:"group,optional,dict"` // "" for the fleet
	From     string   `parquet:"from_month,optional,dict"`
	To       string   `parquet:"to_month,optional,dict"`
	Attempts *int64   `parquet:"attempts"`      // attempts of these months
	Told     *int64   `parquet:"takeoffs_told"` // the denominator of a rate
	Events   *int64   `parquet:"events"`
	Measured *int64   `parquet:"takeoffs_measured"` // the denominator of a percentile
	Value    *float64 `parquet:"value"`
	Low      *float64 `parquet:"low"` // ends of the interval
	High     *float64 `parquet:"high"`
	Unit     string   `parquet:"unit,optional,dict"`
	P        *float64 `parquet:"p"`
}

// Figure is a value as a column, nil for one that cannot be told.
func Figure(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// WriteFigures writes figures as Parquet; the same figures give the same bytes.
func WriteFigures(w io.Writer, rows []FigureRow) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the Parquet library failed: %v", p)
		}
	}()
	out := tableWriter[FigureRow](w)
	if _, err := out.Write(rows); err != nil {
		return err
	}
	return out.Close()
}

// WriteFiguresCSV writes the same as CSV, with the same names of columns.
func WriteFiguresCSV(w io.Writer, rows []FigureRow) error {
	out := csv.NewWriter(w)
	err := out.Write([]string{
		"kind", "series", "figure", "by", "group", "from_month", "to_month", "attempts", "takeoffs_told", "events", "takeoffs_measured", "value", "low", "high", "unit", "p",
	})
	for i := 0; i < len(rows) && err == nil; i++ {
		r := &rows[i]
		err = out.Write([]string{
			r.Kind, r.Series, r.Figure, r.By, r.Group, r.From, r.To, wholeText(r.Attempts), wholeText(r.Told), wholeText(r.Events), wholeText(r.Measured),
			figureText(r.Value), figureText(r.Low), figureText(r.High), r.Unit, figureText(r.P),
		})
	}
	out.Flush()
	if err != nil {
		return err
	}
	return out.Error()
}

func wholeText(v *int64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatInt(*v, 10)
}

func figureText(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', 10, 64)
}
