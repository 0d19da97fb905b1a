package synth

import (
	"bytes"
	"fmt"
	"time"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"

	"rollonset/ingest/profile"
)

// Format is a container that recordings are written in, named by the
// extension of its files.
type Format string

// The formats.
const (
	CSV     Format = ".csv"
	CSVGzip Format = ".csv.gz"
	CSVZstd Format = ".csv.zst"
	Parquet Format = ".parquet"
	Arrow   Format = ".arrow"
)

// Formats lists every format in a fixed order.
func Formats() []Format { return []Format{CSV, CSVGzip, CSVZstd, Parquet, Arrow} }

// clockFace is how a file writes its times.
type clockFace struct {
	rule   profile.TimeRule
	start  time.Time // UTC of the first row
	origin int64     // microseconds on the file's own clock at the first row
}

// encode writes a tape in a format.
func encode(t *tape, face clockFace, format Format) ([]byte, error) {
	switch format {
	case CSV:
		return encodeCSV(t, face), nil
	case CSVGzip:
		return squeezeGzip(encodeCSV(t, face))
	case CSVZstd:
		return squeezeZstd(encodeCSV(t, face))
	case Parquet:
		return encodeParquet(t, face)
	case Arrow:
		return encodeArrow(t, face)
	}
	return nil, fmt.Errorf("synth: unknown format %q; known: %v", format, Formats())
}

// squeezeGzip leaves name and time out of the header, so that the bytes
// depend on the content alone.
func squeezeGzip(data []byte) ([]byte, error) {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, 6)
	if err != nil {
		return nil, fmt.Errorf("gzip: %w", err)
	}
	if _, err := w.Write(data); err != nil {
		return nil, fmt.Errorf("gzip: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("gzip: %w", err)
	}
	return b.Bytes(), nil
}

// squeezeZstd uses one goroutine: how the work is shared must not show in the
// bytes.
func squeezeZstd(data []byte) ([]byte, error) {
	w, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1), zstd.WithEncoderLevel(zstd.SpeedDefault))
	if err != nil {
		return nil, fmt.Errorf("zstd: %w", err)
	}
	defer w.Close()
	return w.EncodeAll(data, nil), nil
}
