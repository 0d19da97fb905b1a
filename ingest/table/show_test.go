package table_test

import "strconv"

func trimFloat(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
func trimInt(v int64) string     { return strconv.FormatInt(v, 10) }
