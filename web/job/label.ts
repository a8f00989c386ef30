// What stands in the code of a piece's label: the form of src/job/stages (read_label), ten fields
// parted by one sign, the first `RW1`. What is typed by hand is the piece's own name.
export interface Label {
  piece: string;
  /** reference or title of the job; empty where only the piece was typed */
  job: string;
  revision: string;
}

const parting = '|';

/** Undefined: a code that is none of ours. */
export function read_label(text: string): Label | undefined {
  const fields = text.trim().split(parting);
  if (fields.length === 1) return fields[0] === '' || fields[0]!.length > 40 ? undefined : { piece: fields[0]!, job: '', revision: '' };
  if (fields.length !== 10 || fields[0] !== 'RW1') return undefined;
  return { piece: fields[3]!, job: fields[1]!, revision: fields[2]! };
}
