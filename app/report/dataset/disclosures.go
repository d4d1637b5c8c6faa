package dataset

import (
	"context"
	"strings"

	"linerwatch/app/study"
)

// disclosureRow is that somebody was told numbers of the study; number counts from 1.
type disclosureRow struct {
	study.Disclosure
	number int
}

func (*disclosureRow) of() *hipRow { return nil }

// disclosed adds who was told numbers.
func (e *export) disclosed(ctx context.Context, from Source, to *lines) error {
	list, err := from.Disclosures(ctx)
	for i, d := range list {
		e.mask.reader(d.Reader)
		e.tables.disclosures.put(to, &disclosureRow{d, i + 1})
	}
	return err
}

func disclosureColumns() []column[*disclosureRow] {
	return []column[*disclosureRow]{
		{"disclosure_no", "number of the disclosure, in the order of the audit trail", "", "", aCount.from(1), func(d *disclosureRow) string { return wholeCell(d.number) }},
		{"disclosure", "how numbers were told", "", "", oneOf(study.DisclosureKinds()), func(d *disclosureRow) string { return string(d.Kind) }},
		{"hip_id", "code of the hip", "NA for the whole study", "", aHip, func(d *disclosureRow) string { return d.HipID }},
		{"open_lists", "reading lists that were being read blind then", "codes, joined by ;", "", aWord, func(d *disclosureRow) string { return strings.Join(d.Lists, ";") }},
		{"told_to", "who was told them", "who asked", "", aReader, func(d *disclosureRow) string { return d.Reader }},
		{"told_at", "when they were told, in UTC", "", "", aMoment, func(d *disclosureRow) string { return when(d.At) }},
		{"told_why", "why they were looked at", "NA where nobody was asked", "", freeText, func(d *disclosureRow) string { return oneLine(d.Why) }},
	}
}
