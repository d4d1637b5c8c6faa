package cli

import "context"

// studyVerbs are what the command study does, by the word before the file.
func studyVerbs() map[string]func(context.Context, *call) error {
	return map[string]func(context.Context, *call) error{
		"list":       runList,
		"export":     runExport,
		"new":        runNew,
		"check":      runCheck,
		"backup":     runBackup,
		"copy":       runCopy,
		"merge":      runMerge,
		"salvage":    runSalvage,
		"import":     runImport,
		"measure":    runBulk,
		"replay":     runReplay,
		"assign":     runAssign,
		"lists":      runLists,
		"readers":    runReaders,
		"read":       runRead,
		"unblind":    runUnblind,
		"rule":       runRule,
		"adjudicate": runAdjudicate,
	}
}
