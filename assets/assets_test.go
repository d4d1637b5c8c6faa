package assets

import (
	"encoding/xml"
	"testing"
)

func TestIconIsSVG(t *testing.T) {
	var root struct {
		XMLName xml.Name
		Circles []struct{} `xml:"circle"`
	}
	if err := xml.Unmarshal(Icon, &root); err != nil {
		t.Fatal(err)
	}
	if root.XMLName.Local != "svg" || len(root.Circles) != 2 {
		t.Errorf("got <%s> with %d circles", root.XMLName.Local, len(root.Circles))
	}
}
