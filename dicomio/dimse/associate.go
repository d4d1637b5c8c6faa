package dimse

import (
	"encoding/binary"
	"strings"

	"linerwatch/dicomio"
)

// The items of a request and an acceptance (PS3.8 section 9.3.2, PS3.7 annex D).
const (
	applicationItem = 0x10
	proposedItem    = 0x20
	answeredItem    = 0x21
	abstractItem    = 0x30
	transferItem    = 0x40
	userItem        = 0x50
	longestItem     = 0x51
	classItem       = 0x52
	roleItem        = 0x54
	versionItem     = 0x55
)

const (
	applicationUID    = "1.2.840.10008.3.1.1.1"
	implementationUID = "2.25.224598790539181451052914642024837959010"
	implementation    = "LINERWATCH"
	mostContexts      = 128 // their ids are odd, from 1 to 255
)

// proposal is a presentation context: a class of objects or a service, in one transfer
// syntax. Others are further ones that a requestor names in the same context.
type proposal struct {
	class, syntax string
	others        []string
	result        byte // of an acceptance: 0 is accepted (PS3.8 table 9-18)
}

// association is what a request or an acceptance says.
type association struct {
	called, calling string
	contexts        map[byte]proposal
	longest         uint32             // bytes of a data unit that its sender takes; 0 is any
	roles           map[string][2]bool // by class: whether the requestor may be SCU, SCP
}

// request is the association that proposes contexts; giving back are the classes of which
// objects may come the other way, too.
func request(called, calling string, list []proposal, back []string) (association, error) {
	a := association{called: called, calling: calling, contexts: map[byte]proposal{}, longest: mostPDU, roles: map[string][2]bool{}}
	if len(list) > mostContexts {
		return a, dicomio.Refused("dimse.contexts", "%d kinds of objects at a time; 128 can be asked for", "N", len(list))
	}
	for i, p := range list {
		a.contexts[byte(2*i+1)] = p
	}
	for _, class := range back {
		a.roles[class] = [2]bool{true, true}
	}
	return a, nil
}

// bytes is the body of a request (kind associateRQ) or an acceptance (associateAC).
func (a association) bytes(kind byte) []byte {
	b := append(binary.BigEndian.AppendUint16(nil, 1), 0, 0)
	b = append(append(b, title(a.called)...), title(a.calling)...)
	b = append(b, make([]byte, 32)...)
	b = appendItem(b, applicationItem, []byte(applicationUID))
	for id := 1; id < 256; id += 2 {
		p, ok := a.contexts[byte(id)]
		switch {
		case !ok:
		case kind == associateRQ:
			item := appendItem([]byte{byte(id), 0, 0, 0}, abstractItem, []byte(p.class))
			for _, s := range append([]string{p.syntax}, p.others...) {
				item = appendItem(item, transferItem, []byte(s))
			}
			b = appendItem(b, proposedItem, item)
		default:
			b = appendItem(b, answeredItem, appendItem([]byte{byte(id), 0, p.result, 0}, transferItem, []byte(p.syntax)))
		}
	}
	user := appendItem(nil, longestItem, binary.BigEndian.AppendUint32(nil, a.longest))
	user = appendItem(user, classItem, []byte(implementationUID))
	for class, r := range a.roles {
		item := append(binary.BigEndian.AppendUint16(nil, uint16(len(class))), class...)
		user = appendItem(user, roleItem, append(item, bit(r[0]), bit(r[1])))
	}
	return appendItem(b, userItem, appendItem(user, versionItem, []byte(implementation)))
}

func bit(b bool) byte {
	if b {
		return 1
	}
	return 0
}

// title is an application entity title in its 16 characters.
func title(s string) []byte { return []byte((s + strings.Repeat(" ", 16))[:16]) }

func appendItem(b []byte, kind byte, value []byte) []byte {
	return append(binary.BigEndian.AppendUint16(append(b, kind, 0), uint16(len(value))), value...)
}

// eachItem calls visit for every item in b.
func eachItem(b []byte, visit func(kind byte, value []byte) error) error {
	for len(b) > 0 {
		if len(b) < 4 {
			return broken("an item without its head")
		}
		n := int(binary.BigEndian.Uint16(b[2:]))
		if n > len(b)-4 {
			return broken("an item that is longer than what holds it")
		}
		if err := visit(b[0], b[4:4+n]); err != nil {
			return err
		}
		b = b[4+n:]
	}
	return nil
}

// parseAssociation reads the body of a request or an acceptance.
func parseAssociation(b []byte) (association, error) {
	a := association{contexts: map[byte]proposal{}, roles: map[string][2]bool{}}
	if len(b) < 68 {
		return a, broken("an association without its head")
	}
	a.called, a.calling = text(b[4:20]), text(b[20:36])
	err := eachItem(b[68:], func(kind byte, v []byte) error {
		switch kind {
		case proposedItem, answeredItem:
			return a.addContext(v)
		case userItem:
			return eachItem(v, a.addUser)
		}
		return nil
	})
	return a, err
}

// addContext reads a presentation context.
func (a *association) addContext(v []byte) error {
	if len(v) < 4 {
		return broken("a presentation context without its head")
	}
	id, p := v[0], proposal{result: v[2]}
	err := eachItem(v[4:], func(kind byte, v []byte) error {
		switch {
		case kind == abstractItem:
			p.class = text(v)
		case kind == transferItem && p.syntax == "":
			p.syntax = text(v)
		case kind == transferItem:
			p.others = append(p.others, text(v))
		}
		return nil
	})
	a.contexts[id] = p
	return err
}

// addUser reads an item of the user information.
func (a *association) addUser(kind byte, v []byte) error {
	switch kind {
	case longestItem:
		if len(v) != 4 {
			return broken("a length that is none")
		}
		a.longest = binary.BigEndian.Uint32(v)
		if a.longest != 0 && a.longest < 128 {
			return broken("data units of hardly any length")
		}
	case roleItem:
		if len(v) < 4 || int(binary.BigEndian.Uint16(v)) != len(v)-4 {
			return broken("a role without a class")
		}
		n := len(v) - 4
		a.roles[text(v[2:2+n])] = [2]bool{v[2+n] != 0, v[3+n] != 0}
	}
	return nil
}

// text is a text without its padding.
func text(b []byte) string { return strings.Trim(string(b), " \x00") }

// rejection says why an association was rejected (PS3.8 table 9-21). Values that the
// standard does not have are told as they are.
func rejection(body []byte) error {
	if len(body) != 4 {
		return broken("a rejection without a reason")
	}
	switch result, source, reason := body[1], body[2], body[3]; {
	case source == 1 && reason == 7:
		return dicomio.Refused("dimse.called", "the archive does not know itself by the title that it was called")
	case source == 1 && reason == 3:
		return dicomio.Refused("dimse.calling", "the archive does not know the title that this program calls itself; it has to be entered there")
	case source == 3 && reason == 1, source == 3 && reason == 2:
		return dicomio.Refused("dimse.busy", "the archive has too many connections; try again later")
	default:
		return dicomio.Refused("dimse.rejected", "the archive rejects the connection (result %d, source %d, reason %d)",
			"Result", result, "Source", source, "Reason", reason)
	}
}

// aborted says who ended a connection, and why (PS3.8 table 9-26).
func aborted(body []byte) error {
	if len(body) != 4 {
		return broken("an abort without a reason")
	}
	if body[2] == 0 {
		return dicomio.Refused("dimse.aborted", "the archive has ended the connection")
	}
	reason := "no reason given"
	if words := []string{"", "a data unit that it does not know", "a data unit that it did not expect", "",
		"a parameter that it does not know", "a parameter that it did not expect", "a parameter of no valid value"}; int(body[3]) < len(words) && words[body[3]] != "" {
		reason = words[body[3]]
	}
	return dicomio.Refused("dimse.aborted-why", "the archive has ended the connection: %s", "Why", reason)
}
