// The shop's rules as the page names them: key, words, and whether it is a length or a plain number.
// What each is for stands in docs/shop/rules.md.
export const rules: Array<{ group: string; rows: Array<[key: string, words: string, kind: 'length' | 'whole' | 'number', unit?: string]> }> = [
  { group: 'At the saw', rows: [
    ['kerf', 'the blade takes', 'length'], ['end_trim', 'trim of a raw end', 'length'], ['least_offcut', 'keep offcuts from', 'length'], ['stretcher_span', 'a stretcher from', 'length'],
  ] },
  { group: 'Boards and cloth', rows: [
    ['clearance_across', 'boards larger across by', 'length'], ['clearance_along', 'and along by', 'length'], ['wrap', 'cloth on the back', 'length'], ['fold', 'folded under', 'length'],
    ['roll_end', 'lost at the start of a roll', 'length'], ['staple_pitch', 'staple to staple', 'length'], ['back_cloth_inset', 'back cloth stands in by', 'length'],
  ] },
  { group: 'Screws and router', rows: [
    ['screw_from_face', 'screw from the face', 'length'], ['screw_from_back', 'screw from the back', 'length'], ['screw_clearance', 'bit clear of screws by', 'length'], ['screws_per_corner', 'screws a corner', 'whole'],
    ['chamfer_per_pass', 'chamfer a pass', 'length'], ['router_bit', 'router bit', 'length'],
  ] },
  { group: 'Hanging', rows: [
    ['keep_clear', 'keep clear of edges', 'length'], ['hanging_factor', 'a fixing holds so many times the load', 'number'], ['hangers_per_panel', 'hangers a panel', 'whole'], ['hangers_per_cloud', 'hangers a cloud', 'whole'],
    ['two_person_kg', 'two people lift from', 'number', 'kg'], ['two_person_length', 'or from a length of', 'length'],
  ] },
  { group: 'Inspection', rows: [
    ['square_within', 'diagonals within', 'length'], ['flat_within', 'flat within', 'length'], ['weight_within_percent', 'weight within', 'number', '%'],
  ] },
];
