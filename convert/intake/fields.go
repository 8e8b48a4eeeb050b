package intake

// Field names a column of a Tanks or Devices sheet, as inspect prints it.
type Field string
