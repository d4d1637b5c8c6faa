package cli

import "context"

// studyVerbs are what the command study does, by the word before the file.
func studyVerbs() map[string]func(context.Context, *call) error {
	return map[string]func(context.Context, *call) error{
		"list":    runList,
		"merge":   runMerge,
		"new":     runNew,
		"check":   runCheck,
		"backup":  runBackup,
		"copy":    runCopy,
		"salvage": runSalvage,
	}
}
