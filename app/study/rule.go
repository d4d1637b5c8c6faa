package study

import (
	"slices"
	"strings"

	"linerwatch/assets/texts"
)

// Rule says which readings of a film count. It is one of the study and is kept there: a
// reader's code for that reader's readings, Anyone, or one of the others here. No code of a
// reader has a colon.
type Rule = string

// The rules beside those of one reader, and the beginning of that of one reader's mean.
const (
	Anyone          Rule = ""                 // the latest reading, whoever made it
	RuleFirst       Rule = "rule:first"       // the first reading, with its corrections
	RuleMean        Rule = "rule:mean"        // the mean of readers, of each the mean of occasions
	RuleAdjudicated Rule = "rule:adjudicated" // the adjudicated one; the mean of readers' first occasions where there is none
	meanOfReader         = RuleMean + ":"     // the mean of a reader's occasions
)

// MeanOf is the rule by which the mean of a reader's occasions counts.
func MeanOf(reader string) Rule { return meanOfReader + reader }

// ReaderOf returns the reader whose readings alone a rule counts; empty where it counts those
// of anyone.
func ReaderOf(rule Rule) string {
	if reader, ok := strings.CutPrefix(rule, meanOfReader); ok {
		return reader
	}
	if RuleCode(rule) != rule {
		return ""
	}
	return rule
}

// RuleCode is a rule as commands and tables write it: a reader's code, latest, first, mean,
// mean:READER or adjudicated.
func RuleCode(rule Rule) string {
	if rule == Anyone {
		return latestCode
	}
	return strings.TrimPrefix(rule, rulePrefix)
}

const latestCode, rulePrefix = "latest", "rule:"

// ParseRule reads what RuleCode writes.
func ParseRule(code string) (Rule, error) {
	rule := rulePrefix + code
	reader := code
	switch {
	case code == latestCode:
		return Anyone, nil
	case rule == RuleFirst, rule == RuleMean, rule == RuleAdjudicated:
		return rule, nil
	case strings.HasPrefix(rule, meanOfReader):
		reader = strings.TrimPrefix(rule, meanOfReader)
	default:
		rule = code
	}
	if ReaderFault(reader) {
		return "", NewError("rule.unknown", Values{"Rule": code})
	}
	return rule, nil
}

// RuleWords says which readings a rule counts.
func RuleWords(rule Rule) string { return RuleIn(texts.Say, rule) }

// RuleIn is RuleWords in a language.
func RuleIn(say Say, rule Rule) string {
	switch {
	case rule == Anyone:
		return say("rule.latest", nil)
	case rule == RuleFirst:
		return say("rule.of-first", nil)
	case rule == RuleMean:
		return say("rule.of-mean", nil)
	case rule == RuleAdjudicated:
		return say("rule.of-adjudicated", nil)
	case strings.HasPrefix(rule, meanOfReader):
		return say("rule.of-reader-mean", texts.Values{"Reader": strings.TrimPrefix(rule, meanOfReader)})
	}
	return say("rule.of-reader", texts.Values{"Reader": rule})
}

// Counting returns the reading that counts of those of one film, oldest first, by a rule: one
// of them, or the mean of several; nil where none does. Readings that were withdrawn never do.
func Counting(list []Reading, rule Rule) *Reading {
	if rule == Anyone {
		if i := lastIndex(list, Reading.Stands); i >= 0 {
			return &list[i]
		}
		return nil
	}
	list = slices.DeleteFunc(slices.Clone(list), func(r Reading) bool { return !r.Stands() })
	if len(list) == 0 {
		return nil
	}
	occasions := occasionsOf(list)
	switch {
	case rule == RuleFirst:
		return &occasions[0]
	case rule == RuleMean:
		return meanOf(slices.DeleteFunc(occasions, Reading.adjudicates))
	case rule == RuleAdjudicated:
		if i := lastIndex(occasions, Reading.adjudicates); i >= 0 {
			return &occasions[i]
		}
		return meanOf(slices.DeleteFunc(occasions, func(r Reading) bool { return r.Listed.Occasion > 1 }))
	case strings.HasPrefix(rule, meanOfReader):
		return meanOf(slices.DeleteFunc(occasions, func(r Reading) bool { return r.Reader != strings.TrimPrefix(rule, meanOfReader) }))
	}
	i := lastIndex(list, func(r Reading) bool { return r.Reader == rule && r.Listed.Occasion <= 1 })
	if i < 0 { // only a repeat stands
		i = lastIndex(list, func(r Reading) bool { return r.Reader == rule })
	}
	if i < 0 {
		return nil
	}
	return &list[i]
}

func lastIndex(list []Reading, is func(Reading) bool) int {
	for i := len(list) - 1; i >= 0; i-- {
		if is(list[i]) {
			return i
		}
	}
	return -1
}

// adjudicates reports whether a reading is one of an adjudication.
func (r Reading) adjudicates() bool { return r.Listed.Kind == AdjudicateList }

// occasionsOf returns the readings that stand for the occasions on which a film was read, in
// the order in which these began: of those of no list a reader's last, since it corrects the
// others, and each of a list's places.
func occasionsOf(list []Reading) (out []Reading) {
	for _, r := range list {
		same := func(o Reading) bool {
			return o.Reader == r.Reader && o.Listed.List == r.Listed.List && o.Listed.Place == r.Listed.Place
		}
		if i := slices.IndexFunc(out, same); i >= 0 {
			out[i] = r
		} else {
			out = append(out, r)
		}
	}
	return out
}
