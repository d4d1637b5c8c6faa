package dimse

import (
	"encoding/binary"
	"fmt"
	"maps"
	"slices"

	"linerwatch/dicomio"
)

// The elements of a command set that are used, all of group 0000 (PS3.7 annex E).
const (
	elClass     = 0x0002 // Affected SOP Class UID
	elField     = 0x0100 // Command Field
	elID        = 0x0110 // Message ID
	elResponds  = 0x0120 // Message ID Being Responded To
	elMoveTo    = 0x0600 // Move Destination
	elPriority  = 0x0700
	elData      = 0x0800 // Command Data Set Type
	elStatus    = 0x0900
	elComment   = 0x0902 // Error Comment
	elInstance  = 0x1000 // Affected SOP Instance UID
	elRemaining = 0x1020 // Number of Remaining, Completed, Failed, Warning Sub-operations
	elCompleted = 0x1021
	elFailed    = 0x1022
	elWarned    = 0x1023
)

// The command fields; a response has the highest bit set.
const (
	cStore   = 0x0001
	cGet     = 0x0010
	cFind    = 0x0020
	cMove    = 0x0021
	cEcho    = 0x0030
	cCancel  = 0x0FFF
	response = 0x8000
)

const (
	noData      = 0x0101 // Command Data Set Type of a message without a data set
	mostCommand = 1 << 16
	mostKeys    = 1 << 22 // bytes of an identifier
)

// The classes of the services.
const (
	verification = "1.2.840.10008.1.1"
	studyFind    = "1.2.840.10008.5.1.4.1.2.2.1"
	studyMove    = "1.2.840.10008.5.1.4.1.2.2.2"
	studyGet     = "1.2.840.10008.5.1.4.1.2.2.3"
)

// service names what a class is for.
func service(class string) string {
	switch class {
	case verification:
		return "the test of connections (C-ECHO)"
	case studyFind:
		return "a search (C-FIND)"
	case studyGet:
		return "to send films on the same connection (C-GET)"
	case studyMove:
		return "to send films on a connection of its own (C-MOVE)"
	}
	return "to keep objects of class " + class
}

const (
	implicitLittle = "1.2.840.10008.1.2"
	explicitLittle = "1.2.840.10008.1.2.1"
)

// command is a command set: values by their element number.
type command map[uint16][]byte

// parseCommand reads a command set, which is implicit little endian (PS3.7 section 6.3.1).
func parseCommand(b []byte) (command, error) {
	c := command{}
	for len(b) > 0 {
		if len(b) < 8 {
			return nil, broken("a command that ends early")
		}
		n := binary.LittleEndian.Uint32(b[4:])
		if binary.LittleEndian.Uint16(b) != 0 || uint64(n) > uint64(len(b)-8) {
			return nil, broken("a command that is none")
		}
		c[binary.LittleEndian.Uint16(b[2:])] = b[8 : 8+n]
		b = b[8+n:]
	}
	for _, e := range []uint16{elField, elData} {
		if len(c[e]) != 2 {
			return nil, broken("a command without its kind")
		}
	}
	return c, nil
}

// bytes is the command set with its length first.
func (c command) bytes() []byte {
	var out []byte
	for _, e := range slices.Sorted(maps.Keys(c)) {
		out = appendCommand(out, e, c[e])
	}
	return append(appendCommand(nil, 0, binary.LittleEndian.AppendUint32(nil, uint32(len(out)))), out...)
}

func appendCommand(b []byte, e uint16, value []byte) []byte {
	b = binary.LittleEndian.AppendUint16(append(b, 0, 0), e)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(value)))
	return append(b, value...)
}

// number is a value of two bytes; 0 where there is none.
func (c command) number(e uint16) uint16 {
	if len(c[e]) != 2 {
		return 0
	}
	return binary.LittleEndian.Uint16(c[e])
}

func (c command) text(e uint16) string { return text(c[e]) }

func (c command) setNumber(e, n uint16) { c[e] = binary.LittleEndian.AppendUint16(nil, n) }

// setUID pads with a zero byte, as UIDs are.
func (c command) setUID(e uint16, s string) { c.setText(e, s, 0) }

func (c command) setText(e uint16, s string, pad byte) {
	c[e] = []byte(s)
	if len(s)%2 == 1 {
		c[e] = append(c[e], pad)
	}
}

func (c command) is(field uint16) bool { return c.number(elField) == field }
func (c command) hasData() bool        { return c.number(elData) != noData }

// asking is the command of a request.
func asking(field uint16, class string, id uint16, data bool) command {
	c := command{}
	c.setUID(elClass, class)
	c.setNumber(elField, field)
	c.setNumber(elID, id)
	if field != cEcho {
		c.setNumber(elPriority, 0) // medium
	}
	c.setNumber(elData, noData)
	if data {
		c.setNumber(elData, 1)
	}
	return c
}

// answering is the command of a response.
func (c command) answering(status uint16, data bool) command {
	a := command{elClass: c[elClass]}
	a.setNumber(elField, c.number(elField)|response)
	a.setNumber(elResponds, c.number(elID))
	a.setNumber(elStatus, status)
	a.setNumber(elData, noData)
	if data {
		a.setNumber(elData, 1)
	}
	if c.is(cStore) {
		a[elInstance] = c[elInstance]
	}
	return a
}

// The statuses that are told apart (PS3.7 annex C, PS3.4 tables B.2-1, C.4-1 to C.4-3).
const (
	statusDone      = 0x0000
	statusCancelled = 0xFE00
	statusPartly    = 0xB000 // sub-operations complete, some failed
	statusNoMemory  = 0xA700
	statusUnable    = 0xC000
)

func pending(status uint16) bool { return status == 0xFF00 || status == 0xFF01 }

// kept reports whether a store has succeeded, if with warnings.
func kept(status uint16) bool { return status == statusDone || status>>12 == 0xB || status == 0x0001 }

// statusFault says what a status means that is no success.
func (c command) statusFault() error {
	status := c.number(elStatus)
	hex := fmt.Sprintf("%04X", status)
	switch comment := c.text(elComment); {
	case comment != "":
		return dicomio.Refused("dimse.status-why", "the archive answers with status %s: %s", "Status", hex, "Why", printable(comment))
	case status == 0x0122:
		return dicomio.Refused("dimse.status-class", "the archive does not take objects of this kind (status %s)", "Status", hex)
	case status == 0x0124:
		return dicomio.Refused("dimse.status-allowed", "the archive does not allow this (status %s)", "Status", hex)
	case status == 0xA801:
		return dicomio.Refused("dimse.status-move", "the archive does not know where to send to: the title of this program has to be entered there (status %s)", "Status", hex)
	case status>>8 == 0xA7:
		return dicomio.Refused("dimse.status-room", "the archive is out of room or memory (status %s)", "Status", hex)
	case status>>8 == 0xA9:
		return dicomio.Refused("dimse.status-match", "the archive does not understand what is asked for (status %s)", "Status", hex)
	}
	return dicomio.Refused("dimse.status", "the archive answers with status %s", "Status", hex)
}

// printable is a text of the archive that one line can show.
func printable(s string) string {
	out := []rune(s)
	for i, r := range out {
		if r < ' ' || r == 0x7F || r == 0xFFFD {
			out[i] = '?'
		}
	}
	return string(out)
}
