package evidence

// Difference is one thing that is not as it was: the file, and what of it.
type Difference struct {
	Where string // file, relative to the archive or the bundle
	What  string // what differs, a clause that goes on after the name
}

// String is the difference as a line.
func (d Difference) String() string { return d.Where + " " + d.What }
