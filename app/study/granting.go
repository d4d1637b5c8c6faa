package study

import "context"

// Granting is a study whose users read under the codes alone that are granted to them, which
// a coordinator does.
type Granting interface {
	// Codes returns the codes of each user who has any, in their order.
	Codes(ctx context.Context) (map[string][]string, error)
	// Grant lets a user read under these codes and no others, of which there may be none. A
	// user who has no part in the study is refused.
	Grant(ctx context.Context, user string, codes []string, by Stamp) error
}
