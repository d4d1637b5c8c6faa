package widgets

import (
	"image/color"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// Column is a column of a Table.
type Column struct {
	Title string
	Share float32 // of the width
	Sorts bool    // its title is a button
}

// Cell is what stands in a row's column: a line, and a quieter one below.
type Cell struct {
	Text, More string
	Color      color.Color // of Text; nil for plain text
	Code       bool        // Text is a code, whose end tells it from others
}

// Table shows rows of two lines below titles. One row is pointed at. It holds no
// order and no filter: whoever fills it does.
type Table struct {
	widget.BaseWidget
	OnOpen  func(row int)          // a row was clicked
	OnSort  func(column int)       // a title was clicked
	OnKey   func(e *fyne.KeyEvent) // typed while the table has the focus
	columns []Column
	length  int
	row     func(i int) []Cell
	cursor  int
	titles  []fyne.CanvasObject
	list    *rowList
	box     *fyne.Container
}

const rowHeight = 40

// NewTable returns a table without rows.
func NewTable(columns ...Column) *Table {
	t := &Table{columns: columns, cursor: -1}
	for i, c := range columns {
		if !c.Sorts {
			l := canvas.NewText(c.Title, Muted)
			l.TextSize = FigureSize
			t.titles = append(t.titles, l)
			continue
		}
		b := widget.NewButton(c.Title, func() {
			if t.OnSort != nil {
				t.OnSort(i)
			}
		})
		b.Importance, b.Alignment, b.IconPlacement = widget.LowImportance, widget.ButtonAlignLeading, widget.ButtonIconTrailingText
		t.titles = append(t.titles, b)
	}
	t.list = newRowList(t)
	t.box = container.NewBorder(container.New(cellLayout{columns}, t.titles...), nil, nil, nil, t.list)
	t.ExtendBaseWidget(t)
	return t
}

// Set shows rows and points at one of them, or at none for a negative cursor.
func (t *Table) Set(rows [][]Cell, cursor int) {
	t.Fill(len(rows), func(i int) []Cell { return rows[i] }, cursor)
}

// Fill is Set for many rows, each asked for when it is to be seen.
func (t *Table) Fill(length int, row func(i int) []Cell, cursor int) {
	moved := cursor != t.cursor
	t.length, t.row, t.cursor = length, row, cursor
	t.list.Refresh()
	if moved && cursor >= 0 {
		t.list.ScrollTo(cursor)
	}
}

// Rows returns what is shown.
func (t *Table) Rows() (rows [][]Cell) {
	for i := range t.length {
		rows = append(rows, t.row(i))
	}
	return rows
}

// Keys is what takes the focus, so that keys go to OnKey.
func (t *Table) Keys() fyne.Focusable { return t.list }

// Cursor returns the row pointed at, or -1.
func (t *Table) Cursor() int { return t.cursor }

// Sorted marks the column by which the rows are ordered.
func (t *Table) Sorted(column int, back bool) {
	for i, o := range t.titles {
		b, ok := o.(*widget.Button)
		if !ok {
			continue
		}
		var mark fyne.Resource // an icon: not every system has a font with arrows
		if i == column {
			if mark = theme.MenuDropUpIcon(); back {
				mark = theme.MenuDropDownIcon()
			}
		}
		if b.Icon != mark {
			b.SetIcon(mark)
		}
	}
}

// CreateRenderer implements fyne.Widget.
func (t *Table) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(t.box) }

// rowList is a list whose keys go to the table's owner.
type rowList struct {
	widget.List
	t *Table
}

func newRowList(t *Table) *rowList {
	l := &rowList{t: t}
	l.Length = func() int { return t.length }
	l.CreateItem = func() fyne.CanvasObject { return newTableRow(t) }
	l.UpdateItem = func(i int, o fyne.CanvasObject) { o.(*tableRow).set(t.row(i), i == t.cursor) }
	l.OnSelected = func(i int) {
		l.UnselectAll()
		if t.OnOpen != nil {
			t.OnOpen(i)
		}
	}
	l.HideSeparators = true
	l.ExtendBaseWidget(l)
	return l
}

// FocusGained implements fyne.Focusable; the cursor shows where keys act.
func (l *rowList) FocusGained() {}

// FocusLost implements fyne.Focusable.
func (l *rowList) FocusLost() {}

// TypedKey implements fyne.Focusable.
func (l *rowList) TypedKey(e *fyne.KeyEvent) {
	if l.t.OnKey != nil {
		l.t.OnKey(e)
	}
}

// TypedRune implements fyne.Focusable.
func (l *rowList) TypedRune(rune) {}

// tableRow draws the cells of a row.
type tableRow struct {
	widget.BaseWidget
	t     *Table
	back  *canvas.Rectangle
	cells []*cellText
	box   *fyne.Container
}

func newTableRow(t *Table) *tableRow {
	r := &tableRow{t: t, back: canvas.NewRectangle(color.Transparent)}
	r.back.StrokeWidth, r.back.CornerRadius = 1, 3
	var objects []fyne.CanvasObject
	for range t.columns {
		c := newCellText()
		r.cells = append(r.cells, c)
		objects = append(objects, c)
	}
	r.box = container.NewStack(r.back, container.New(cellLayout{t.columns}, objects...))
	r.ExtendBaseWidget(r)
	return r
}

// MinSize implements fyne.CanvasObject.
func (r *tableRow) MinSize() fyne.Size { return fyne.NewSize(100, rowHeight) }

// CreateRenderer implements fyne.Widget.
func (r *tableRow) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(r.box) }

func (r *tableRow) set(cells []Cell, pointed bool) {
	fill, edge := color.Color(color.Transparent), color.Color(color.Transparent)
	if pointed {
		fill, edge = Raised, Accent
	}
	if r.back.FillColor != fill || r.back.StrokeColor != edge {
		r.back.FillColor, r.back.StrokeColor = fill, edge
		r.back.Refresh()
	}
	one := !slices.ContainsFunc(cells, func(c Cell) bool { return c.More != "" })
	for i, c := range r.cells {
		c.midway(one)
		if i < len(cells) {
			c.set(cells[i])
		} else {
			c.set(Cell{})
		}
	}
}

// cellText is a cell's two lines, cut where they do not fit.
type cellText struct {
	widget.BaseWidget
	cell Cell
	line [2]*canvas.Text
	box  *fyne.Container
}

func newCellText() *cellText {
	c := &cellText{line: [2]*canvas.Text{canvas.NewText("", Text), canvas.NewText("", Muted)}}
	c.line[0].TextSize, c.line[1].TextSize = FigureSize, FigureSize-1
	c.midway(false)
	c.line[1].Move(fyne.NewPos(0, 20))
	c.box = container.NewWithoutLayout(c.line[0], c.line[1])
	c.ExtendBaseWidget(c)
	return c
}

// midway puts the first line halfway up, where the row has no other.
func (c *cellText) midway(on bool) {
	y := float32(4)
	if on {
		y = 12
	}
	if c.line[0].Position().Y != y {
		c.line[0].Move(fyne.NewPos(0, y))
	}
}

// MinSize implements fyne.CanvasObject.
func (c *cellText) MinSize() fyne.Size { return fyne.NewSize(20, rowHeight) }

// Resize implements fyne.CanvasObject.
func (c *cellText) Resize(s fyne.Size) {
	c.BaseWidget.Resize(s)
	c.fit()
}

// CreateRenderer implements fyne.Widget.
func (c *cellText) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(c.box) }

func (c *cellText) set(cell Cell) {
	c.cell = cell
	c.line[0].Color = Text
	if cell.Color != nil {
		c.line[0].Color = cell.Color
	}
	c.fit()
}

func (c *cellText) fit() {
	for i, text := range []string{c.cell.Text, c.cell.More} {
		tail := 0
		if i == 0 && c.cell.Code {
			tail = codeTail
		}
		c.line[i].Text = shorten(text, c.Size().Width, c.line[i].TextSize, tail)
		c.line[i].Refresh()
	}
}

// codeTail is how much of a code's end is kept.
const codeTail = 6

// shorten cuts text to the width that it may take: an ellipsis stands for what is
// cut before the last tail characters.
func shorten(text string, width, size float32, tail int) string {
	wide := func(s string) float32 { return fyne.MeasureText(s, size, fyne.TextStyle{}).Width }
	if width <= 0 || wide(text) <= width {
		return text
	}
	r := []rune(text)
	tail = min(tail, len(r))
	end := "…" + string(r[len(r)-tail:])
	lo, hi := 0, len(r)-tail
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if wide(string(r[:mid])+end) <= width {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return string(r[:lo]) + end
}

// cellLayout lays objects side by side by the columns' shares.
type cellLayout struct{ columns []Column }

// Layout implements fyne.Layout.
func (l cellLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	const gap, edge = 12, 8
	sum := float32(0)
	for _, c := range l.columns {
		sum += c.Share
	}
	free := size.Width - 2*edge - gap*float32(len(l.columns)-1)
	x := float32(edge)
	for i, o := range objects {
		w := free * l.columns[i].Share / sum
		if _, button := o.(*widget.Button); button { // its text stands where the cells' does
			o.Move(fyne.NewPos(x-edge, 0))
			o.Resize(fyne.NewSize(w+edge, size.Height))
		} else {
			o.Move(fyne.NewPos(x, 0))
			o.Resize(fyne.NewSize(w, size.Height))
		}
		x += w + gap
	}
}

// MinSize implements fyne.Layout.
func (l cellLayout) MinSize(objects []fyne.CanvasObject) fyne.Size {
	h := float32(0)
	for _, o := range objects {
		h = max(h, o.MinSize().Height)
	}
	return fyne.NewSize(60*float32(len(l.columns)), h)
}
