package chart

import "strconv"

// fewMonths is up to how many months each is named by its number.
const fewMonths = 15

// axisRoom is the height of the axis: a row of labels, and where the months
// are named one by one another with the years.
func (d *monthDrawing) axisRoom() float64 {
	if d.spec.Count <= fewMonths {
		return 4 + 8 + 2*textSize + 6
	}
	return 4 + 8 + textSize + 4
}

// months draws the common axis: a tick a month, the year at its January, or
// the months by number where there are few.
func (d *monthDrawing) months() {
	y := d.y + 2 - panelGap/2.0
	d.line("axis", d.time.Lo, y, d.time.Hi, y)
	free := 0.0 // where the last label of a year ends
	for i := range d.spec.Count {
		month := d.spec.First + i
		from := d.time.Pixel(float64(i))
		long := 3.0
		if month%12 == 0 {
			long = 8
		}
		d.line("axis", from, y, from, y+long)
		if d.spec.Count <= fewMonths {
			d.text("tick", "middle", d.time.Pixel(float64(i)+0.5), y+9+textSize, strconv.Itoa(month%12+1))
		}
		if i == 0 || month%12 == 0 {
			free = d.year(i, y, free)
		}
	}
	d.y = y
}

// year names the year of a month, if there is room between the last name and
// the edge; the first of many months with its number, if the next year leaves
// room for it.
func (d *monthDrawing) year(i int, y, free float64) float64 {
	month := d.spec.First + i
	label, place := strconv.Itoa(month/12), y+9+textSize
	x := d.time.Pixel(float64(i)) + 3
	if d.spec.Count <= fewMonths {
		place += textSize + 3
		x = min(x, d.width-textWidth(label))
	}
	next := (12 - month%12) % 12 // months to the next January
	if i == 0 && next > 0 {
		if d.spec.Count > fewMonths {
			label += "-" + twoDigits(month%12+1)
		}
		if next < d.spec.Count && x+textWidth(label)+6 > d.time.Pixel(float64(next))+3 {
			return free // the next year says it
		}
	}
	if x < free || x+textWidth(label) > d.width {
		return free
	}
	d.text("tick", "start", x, place, label)
	return x + textWidth(label) + 6
}

func twoDigits(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}
