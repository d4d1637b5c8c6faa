package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"linerwatch/app/ui/widgets"
)

// filmTheme is the window's look: dark, so that the film is the brightest thing
// on the screen, whatever the desktop prefers.
type filmTheme struct{ fyne.Theme }

func newTheme() fyne.Theme { return filmTheme{theme.DefaultTheme()} }

var themeColors = map[fyne.ThemeColorName]color.Color{
	theme.ColorNameBackground:          widgets.Ground,
	theme.ColorNameHeaderBackground:    widgets.Surface,
	theme.ColorNameMenuBackground:      widgets.Surface,
	theme.ColorNameOverlayBackground:   widgets.Surface,
	theme.ColorNameButton:              widgets.Raised,
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
	theme.ColorNameSelection:           color.RGBA{0x2f, 0x5a, 0x52, 0xff},
	theme.ColorNameHover:               color.RGBA{0x20, 0x22, 0x24, 0x24},
	theme.ColorNamePressed:             color.RGBA{0x40, 0x44, 0x48, 0x48},
	theme.ColorNameScrollBar:           widgets.Border,
	theme.ColorNameScrollBarBackground: color.RGBA{},
	theme.ColorNameShadow:              color.RGBA{0, 0, 0, 0x66},
	theme.ColorNameSuccess:             widgets.Good,
	theme.ColorNameWarning:             widgets.Watch,
	theme.ColorNameError:               widgets.Fault,
	theme.ColorNameForegroundOnError:   widgets.OnAccent,
	theme.ColorNameForegroundOnSuccess: widgets.OnAccent,
	theme.ColorNameForegroundOnWarning: widgets.OnAccent,
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
	if c, ok := themeColors[name]; ok {
		return c
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
