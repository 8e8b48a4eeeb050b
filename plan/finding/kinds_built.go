package finding

// Findings about what came back from the site.
const (
	AsBuiltOverLimit  Slug = "as-built-over-limit"
	AsBuiltDiffers    Slug = "as-built-differs"
	AsBuiltUnderLeast Slug = "as-built-under-least"
	EndTooHigh        Slug = "end-too-high"
	PiecesDoNotAddUp  Slug = "pieces-do-not-add-up"
	LeakTestTooHigh   Slug = "leak-test-too-high"
	TorqueOutOfRange  Slug = "torque-out-of-range"
	TorqueNotFalling  Slug = "torque-not-falling"
	AnsweredNo        Slug = "answered-no"
	RecordIncomplete  Slug = "record-incomplete"
	ValueImpossible   Slug = "value-impossible"
	InspectionFailed  Slug = "inspection-failed"
	PageFilledTwice   Slug = "page-filled-twice"
	PageOfOtherTank   Slug = "page-of-another-tank"
	PageOfOlderPlan   Slug = "page-of-an-older-plan"
	FormulaTypedOver  Slug = "formula-typed-over"
	EntryNotPlaced    Slug = "entry-not-placed"
)

var builtKinds = []Kind{
	{
		Slug:    AsBuiltOverLimit,
		About:   "the tube that was built shuts off above the limit",
		Example: "upper tube 47 in, 95.6 % of 95 %",
		Advice:  "replace the tube; do not put the tank into service",
	},
	{
		Slug:    AsBuiltDiffers,
		About:   "what was built is not what the plan gives for the measures that came back",
		Example: "upper tube 48 1/2 in, planned 48 7/8 in",
		Advice:  "measure again; cut or replace",
	},
	{
		Slug:    AsBuiltUnderLeast,
		About:   "the tube that was built is shorter than the device allows",
		Example: "upper tube 14 in, the device needs 14 1/2 in",
		Advice:  "replace the tube",
	},
	{
		Slug:    EndTooHigh,
		About:   "the lower end was built farther from the bottom than the rule allows",
		Example: "7 in, the rule says 6 in",
		Advice:  "a longer lower tube",
	},
	{
		Slug:    PiecesDoNotAddUp,
		About:   "the parts that were measured do not add up to the drop length",
		Example: "48 7/8 + 12 7/8 + 69 1/2 in, drop length 129 in",
		Advice:  "measure again",
	},
	{
		Slug:    LeakTestTooHigh,
		About:   "the leak test pressure is above the ceiling of the device",
		Example: "5 psi of at most 3 psi",
		Advice:  "look whether the device is damaged, and test it again",
	},
	{
		Slug:    TorqueOutOfRange,
		About:   "a joint was not tightened within its range",
		Example: "30 lbf.ft, range 18 to 26 lbf.ft",
		Advice:  "loosen and tighten it again; look at the seal",
	},
	{
		Slug:    TorqueNotFalling,
		About:   "a joint was tightened as firmly as the one below it, or more",
		Example: "upper joint 20 lbf.ft, lower joint 20 lbf.ft",
		Advice:  "tighten again from the tank up, each joint less than the one before",
	},
	{
		Slug:    AnsweredNo,
		About:   "a question of the page was answered with no",
		Example: "leak test held: no",
		Advice:  "find out why, and put it right",
	},
	{
		Slug:    RecordIncomplete,
		About:   "the record of a page lacks what it has to hold",
		Example: "no leak test pressure, no date",
		Advice:  "have it completed by whoever did the work",
	},
	{
		Slug:    ValueImpossible,
		About:   "a value on a returned page cannot be right",
		Example: "riser height 4125 in",
		Advice:  "ask whoever filled in the page",
	},
	{
		Slug:    InspectionFailed,
		About:   "an inspection did not pass",
		Example: "free of debris: no",
		Advice:  "repair, and inspect again",
	},
	{
		Slug:    PageFilledTwice,
		About:   "two pages of one tank came back with different values",
		Example: "upper tube 48 7/8 in and 48 3/4 in",
		Advice:  "find out which page holds",
	},
	{
		Slug:    PageOfOtherTank,
		About:   "a page names a tank that the book does not list",
		Example: "tank MR-9",
		Advice:  "correct the list, or send the page to its own book",
	},
	{
		Slug:    PageOfOlderPlan,
		About:   "a page was made from a plan that is no longer the book's",
		Example: "plan 3f9a2c11, now 77d01e5b",
		Advice:  "compare what was built with the new plan",
	},
	{
		Slug:    FormulaTypedOver,
		About:   "a formula of a page was replaced by a value",
		Example: "48 in where the page computes the cut",
		Advice:  "take the value out; look what was cut",
	},
	{
		Slug:    EntryNotPlaced,
		About:   "something was written on a page where no field is",
		Example: "see me about the vent, in cell H40",
		Advice:  "read it, and put it where it belongs",
	},
}
