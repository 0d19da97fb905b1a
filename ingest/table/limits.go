package table

// Limits bounds what a damaged or hostile file can make the reader do. Every
// field must be positive; a zero field stands for its default. Reaching a
// limit is an Error that names it, except for Words and CellBytes, which only
// make single cells bad: one odd column must not cost the whole recording.
type Limits struct {
	// LineBytes is the longest line or quoted record of a CSV file.
	LineBytes int
	// Columns is how many columns a file may have.
	Columns int
	// Rows is how many data rows a file may have; never more than 2^31-1.
	Rows int64
	// Samples is how many samples all wanted columns may have together. It is
	// what bounds memory: a sample costs 4 to 12 bytes.
	Samples int64
	// Decompressed is how many bytes a gzip or zstd file, or the wanted columns
	// of a Parquet or Arrow file, may expand to.
	Decompressed int64
	// PageBytes is the largest page of a Parquet file, the largest message of an
	// Arrow file, and the largest window of a zstd file.
	PageBytes int64
	// Words is how many different words a State column may have.
	Words int
	// CellBytes is the longest text of a cell of a State column.
	CellBytes int
	// BadCells is how many bad cells of a column are kept with their text.
	BadCells int
}

// DefaultLimits is generous for real recordings: a day at 64 rows a second is
// 5.5 million rows, and recorders name some 2,000 parameters.
func DefaultLimits() Limits {
	return Limits{
		LineBytes:    4 << 20,
		Columns:      20_000,
		Rows:         100_000_000,
		Samples:      150_000_000,
		Decompressed: 16 << 30,
		PageBytes:    256 << 20,
		Words:        4096,
		CellBytes:    1024,
		BadCells:     5,
	}
}

// orDefault fills the fields that are not set.
func (l Limits) orDefault() Limits {
	d := DefaultLimits()
	set(&l.LineBytes, d.LineBytes)
	set(&l.Columns, d.Columns)
	set(&l.Rows, d.Rows)
	set(&l.Samples, d.Samples)
	set(&l.Decompressed, d.Decompressed)
	set(&l.PageBytes, d.PageBytes)
	set(&l.Words, d.Words)
	set(&l.CellBytes, d.CellBytes)
	set(&l.BadCells, d.BadCells)
	// Row numbers are kept in 32 bits.
	l.Rows = min(l.Rows, 1<<31-1)
	return l
}

func set[T int | int64](field *T, fallback T) {
	if *field <= 0 {
		*field = fallback
	}
}
