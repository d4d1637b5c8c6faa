package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"linerwatch/app/session"
	"linerwatch/app/ui/widgets"
)

// filmTheme is the window's look, whatever the desktop prefers: dark for reading,
// light for the clinic.
type filmTheme struct {
	fyne.Theme
	colors map[fyne.ThemeColorName]color.Color
	light  bool
}

// newTheme makes the palette that of all that is built from then on.
func newTheme(light bool) fyne.Theme {
	p := widgets.Dark
	if light {
		p = widgets.Light
	}
	widgets.Use(p)
	return filmTheme{theme.DefaultTheme(), themeColors(light), light}
}

func themeColors(light bool) map[fyne.ThemeColorName]color.Color {
	hover, pressed, shadow := color.RGBA{0x20, 0x22, 0x24, 0x24}, color.RGBA{0x40, 0x44, 0x48, 0x48}, color.RGBA{0, 0, 0, 0x66}
	if light {
		hover, pressed, shadow = color.RGBA{0, 0, 0, 0x14}, color.RGBA{0, 0, 0, 0x28}, color.RGBA{0, 0, 0, 0x1c}
	}
	return map[fyne.ThemeColorName]color.Color{
		theme.ColorNameBackground:          widgets.Ground,
		theme.ColorNameHeaderBackground:    widgets.Surface,
		theme.ColorNameMenuBackground:      widgets.Surface,
		theme.ColorNameOverlayBackground:   widgets.Surface,
		theme.ColorNameButton:              widgets.Press,
		theme.ColorNameDisabledButton:      widgets.Surface,
		theme.ColorNameInputBackground:     widgets.Raised,
		theme.ColorNameInputBorder:         widgets.Border,
		theme.ColorNameSeparator:           widgets.Hair,
		theme.ColorNameForeground:          widgets.Text,
		theme.ColorNamePlaceHolder:         widgets.Muted,
		theme.ColorNameDisabled:            widgets.Dim,
		theme.ColorNamePrimary:             widgets.Accent,
		theme.ColorNameHyperlink:           widgets.Accent,
		theme.ColorNameForegroundOnPrimary: widgets.OnAccent,
		theme.ColorNameFocus:               widgets.Lit,
		theme.ColorNameSelection:           widgets.Selection,
		theme.ColorNameHover:               hover,
		theme.ColorNamePressed:             pressed,
		theme.ColorNameScrollBar:           widgets.Border,
		theme.ColorNameScrollBarBackground: color.RGBA{},
		theme.ColorNameShadow:              shadow,
		theme.ColorNameSuccess:             widgets.Good,
		theme.ColorNameWarning:             widgets.Watch,
		theme.ColorNameError:               widgets.Fault,
		theme.ColorNameForegroundOnError:   widgets.OnAccent,
		theme.ColorNameForegroundOnSuccess: widgets.OnAccent,
		theme.ColorNameForegroundOnWarning: widgets.OnAccent,
	}
}

var themeSizes = map[fyne.ThemeSizeName]float32{
	theme.SizeNameText:           13,
	theme.SizeNameCaptionText:    11.5,
	theme.SizeNameSubHeadingText: 15,
	theme.SizeNameHeadingText:    22,
	theme.SizeNamePadding:        4,
	theme.SizeNameInnerPadding:   7,
	theme.SizeNameInputBorder:    1,
	theme.SizeNameInputRadius:    4,
	theme.SizeNameScrollBar:      10,
	theme.SizeNameInlineIcon:     18,
}

// Color implements fyne.Theme.
func (t filmTheme) Color(name fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	if c, ok := t.colors[name]; ok {
		return c
	}
	if t.light {
		return t.Theme.Color(name, theme.VariantLight)
	}
	return t.Theme.Color(name, theme.VariantDark)
}

// Size implements fyne.Theme.
func (t filmTheme) Size(name fyne.ThemeSizeName) float32 {
	if s, ok := themeSizes[name]; ok {
		return s
	}
	return t.Theme.Size(name)
}

// newOnFilmTheme is the dark look for text that lies over a film.
func newOnFilmTheme() fyne.Theme {
	return filmTheme{theme.DefaultTheme(), map[fyne.ThemeColorName]color.Color{theme.ColorNameForeground: onFilm.Muted}, false}
}

// switchLook changes between the dark and the light window, and remembers which.
func (w *window) switchLook() {
	if w.pages == nil {
		return // the first screen is still being made
	}
	err := w.s.SetLight(!w.s.Light())
	fyne.CurrentApp().Settings().SetTheme(newTheme(w.s.Light()))
	w.anew()
	w.told(err)
}

// anew makes all that is shown again, with the same page in front.
func (w *window) anew() {
	layers, at := w.films.view.layers, w.at
	w.at = w.home()
	w.fill()
	w.films.view.layers = layers
	w.films.showEvidence(layers.edges)
	w.pending = session.Everything
	w.refresh()
	if at != w.at {
		w.turn(at)
	}
}
