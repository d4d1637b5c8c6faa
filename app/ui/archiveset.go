package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
)

// archiveForm is what is asked of an archive that is set up.
type archiveForm struct {
	name, address, user, file, called, calling *field
	password                                   *widget.Entry
	tls                                        *widget.Check
}

// setUp asks for an archive, tries it, and goes back to the search with it.
func (s *archiveSearch) setUp() {
	w := s.w
	f := &archiveForm{name: newField(w, ""), address: newField(w, ""), user: newField(w, ""), file: newField(w, ""), called: newField(w, ""), calling: newField(w, ""),
		password: widget.NewPasswordEntry(), tls: widget.NewCheck(say("archive.over-tls"), nil)}
	f.name.SetPlaceHolder(say("archive.such-as"))
	f.address.SetPlaceHolder(say("archive.such-address"))
	f.file.SetPlaceHolder(say("archive.password-from"))
	f.calling.SetPlaceHolder("LINERWATCH")
	fault := faultNote()
	row := func(what string, o fyne.CanvasObject) *widget.FormItem { return widget.NewFormItem(what, o) }
	form := widget.NewForm(row(say("chooser.name"), f.name), row(say("archive.address"), f.address),
		row(say("archive.dicomweb-user"), f.user), row(say("archive.password"), f.password), row(say("archive.or-file"), f.file),
		row(say("archive.dicom-title"), f.called), row(say("archive.title-program"), f.calling), row("", f.tls))
	d := dialog.NewCustomWithoutButtons(say("archive.set-up"), container.NewVBox(
		note(say("archive.about")),
		form, fault), w.win)
	save := widget.NewButton(say("archive.save-try"), nil)
	save.Importance = widget.HighImportance
	save.OnTapped = func() {
		set, password := f.settings()
		save.Disable()
		s.look.Set(set, password, func(kept bool, err error) {
			save.Enable()
			switch {
			case err == nil:
				d.Hide()
				s.offer(set.Name)
				w.win.Canvas().Focus(s.patient)
			case kept:
				fault.SetText(say("archive.is-set", "Text", sentenceOf(err)))
				s.offer(set.Name)
			default:
				fault.SetText(sentenceOf(err))
			}
			show(fault, err != nil)
		})
	}
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), d.Hide), save})
	d.Resize(fyne.NewSize(560, d.MinSize().Height))
	w.present(d)
	w.win.Canvas().Focus(f.name)
}

// settings are what was entered.
func (f *archiveForm) settings() (set session.ArchiveSettings, password string) {
	text := func(e *field) string { return strings.TrimSpace(e.Text) }
	return session.ArchiveSettings{Name: text(f.name), Address: text(f.address), User: text(f.user), PasswordFile: text(f.file),
		Called: text(f.called), Calling: text(f.calling), TLS: f.tls.Checked}, f.password.Text
}
