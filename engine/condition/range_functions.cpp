#include <algorithm>

#include "condition/evaluator.h"

// OMG DMN 10.3.4.9 (table 78), `is` of 10.3.4.7 and `range` of 10.3.4.1.
namespace kitgap {
namespace {

using Arguments = std::span<const FeelValue>;

struct Unordered {};

std::weak_ordering order(const FeelValue& a, const FeelValue& b) {
  const auto found = compare(a, b);
  if (!found) throw Unordered();
  return *found;
}

// `a` begins before `b` does, or no later: `ties` says what counts when both begin at one value.
bool starts_before(const FeelRange& a, const FeelRange& b, bool ties) {
  const auto found = order(a.start, b.start);
  return found < 0 || (found == 0 && ties);
}
bool ends_before(const FeelRange& a, const FeelRange& b, bool ties) {
  const auto found = order(a.end, b.end);
  return found < 0 || (found == 0 && ties);
}

bool range_before(const FeelRange& a, const FeelRange& b) {
  const auto found = order(a.end, b.start);
  return found < 0 || (found == 0 && !(a.end_included && b.start_included));
}

bool meets(const FeelRange& a, const FeelRange& b) { return a.end_included && b.start_included && order(a.end, b.start) == 0; }

bool overlaps(const FeelRange& a, const FeelRange& b) { return !range_before(a, b) && !range_before(b, a); }

bool overlaps_before(const FeelRange& a, const FeelRange& b) {
  return starts_before(a, b, a.start_included && !b.start_included) && !range_before(a, b) &&
         ends_before(a, b, !a.end_included || b.end_included);
}

bool overlaps_after(const FeelRange& a, const FeelRange& b) {
  return starts_before(b, a, b.start_included && !a.start_included) && !range_before(b, a) &&
         ends_before(b, a, !b.end_included || a.end_included);
}

bool includes(const FeelRange& a, const FeelRange& b) {
  return starts_before(a, b, a.start_included || !b.start_included) && ends_before(b, a, a.end_included || !b.end_included);
}

bool finishes(const FeelRange& a, const FeelRange& b) {
  return a.end_included == b.end_included && order(a.end, b.end) == 0 && starts_before(b, a, !a.start_included || b.start_included);
}

bool starts(const FeelRange& a, const FeelRange& b) {
  return a.start_included == b.start_included && order(a.start, b.start) == 0 && ends_before(a, b, !a.end_included || b.end_included);
}

bool coincides(const FeelRange& a, const FeelRange& b) {
  return a.start_included == b.start_included && a.end_included == b.end_included && order(a.start, b.start) == 0 &&
         order(a.end, b.end) == 0;
}

using Relation = bool (*)(const FeelRange&, const FeelRange&);

// A point counts as the range from itself to itself; which arguments may be points depends on the function.
enum Points : unsigned { kNone = 0, kLeft = 1, kRight = 2, kBoth = 4 };

FeelValue related(Evaluator& evaluator, Arguments arguments, Relation relation, unsigned points, bool swapped = false) {
  const auto as_range = [](const FeelValue& value) {
    if (value.range() != nullptr) return *value.range();
    FeelRange range;
    range.start = value;
    range.end = value;
    range.start_included = range.end_included = true;
    return range;
  };
  const bool is_left_point = arguments[0].range() == nullptr;
  const bool is_right_point = arguments[1].range() == nullptr;
  const bool is_allowed = is_left_point && is_right_point ? (points & kBoth) != 0
                          : is_left_point                 ? (points & kLeft) != 0
                          : is_right_point                ? (points & kRight) != 0
                                                          : true;
  if (!is_allowed || arguments[0].is_null() || arguments[1].is_null()) return evaluator.problem("the function needs ranges");
  const FeelRange left = as_range(arguments[0]);
  const FeelRange right = as_range(arguments[1]);
  try {
    return swapped ? relation(right, left) : relation(left, right);
  } catch (const Unordered&) {
    return evaluator.problem("the ranges have no common order");
  }
}

bool point_finishes(const FeelRange& a, const FeelRange& b) { return b.end_included && order(a.end, b.end) == 0; }
bool point_starts(const FeelRange& a, const FeelRange& b) { return b.start_included && order(a.start, b.start) == 0; }

FeelValue before(Evaluator& e, Arguments a) { return related(e, a, range_before, kLeft | kRight | kBoth); }
FeelValue after(Evaluator& e, Arguments a) { return related(e, a, range_before, kLeft | kRight | kBoth, true); }
FeelValue meets_it(Evaluator& e, Arguments a) { return related(e, a, meets, kNone); }
FeelValue met_by(Evaluator& e, Arguments a) { return related(e, a, meets, kNone, true); }
FeelValue overlaps_it(Evaluator& e, Arguments a) { return related(e, a, overlaps, kNone); }
FeelValue overlaps_before_it(Evaluator& e, Arguments a) { return related(e, a, overlaps_before, kNone); }
FeelValue overlaps_after_it(Evaluator& e, Arguments a) { return related(e, a, overlaps_after, kNone); }
FeelValue finishes_it(Evaluator& e, Arguments a) { return related(e, a, a[0].range() == nullptr ? point_finishes : finishes, kLeft); }
FeelValue finished_by(Evaluator& e, Arguments a) { return related(e, a, a[1].range() == nullptr ? point_finishes : finishes, kRight, true); }
FeelValue includes_it(Evaluator& e, Arguments a) { return related(e, a, includes, kRight); }
FeelValue during(Evaluator& e, Arguments a) { return related(e, a, includes, kLeft, true); }
FeelValue starts_it(Evaluator& e, Arguments a) { return related(e, a, a[0].range() == nullptr ? point_starts : starts, kLeft); }
FeelValue started_by(Evaluator& e, Arguments a) { return related(e, a, a[1].range() == nullptr ? point_starts : starts, kRight, true); }
FeelValue coincides_it(Evaluator& e, Arguments a) { return related(e, a, coincides, kBoth); }

// The same value of the same kind: times and moments also with the same zone.
FeelValue is(Evaluator&, Arguments arguments) {
  const FeelValue& a = arguments[0];
  const FeelValue& b = arguments[1];
  if (a.data().index() != b.data().index()) return false;
  if (const auto* time = a.as<ClockTime>()) return *time == *b.as<ClockTime>();
  if (const auto* moment = a.as<DateAndTime>()) return *moment == *b.as<DateAndTime>();
  return equal(a, b) == true;
}

// An end of a range in text: a number, a string, `@"..."`, or a call of date, time, duration with a string.
bool is_literal_end(const Expression& tree, const Node& node) {
  if (node.kind == NodeKind::Constant) return true;
  if (node.kind != NodeKind::Call || node.count != 2 || tree.child(node, 0).kind != NodeKind::Name) return false;
  const std::string& name = tree.names[tree.child(node, 0).data];
  return (name == "date" || name == "time" || name == "duration" || name == "date and time") &&
         tree.child(node, 1).kind == NodeKind::Constant;
}

FeelValue range_from(Evaluator& evaluator, Arguments arguments) {
  const auto* text = arguments[0].as<std::string>();
  if (text == nullptr) return evaluator.problem("`range` needs a string");
  evaluator.charge(20 + text->size());
  SyntaxError error;
  const auto tree = parse_expression(*text, Scope{}, error);
  if (!tree) return evaluator.problem("the text is no range");
  const Node& root = tree->nodes[tree->root];
  if (root.kind != NodeKind::Interval) return evaluator.problem("the text is no range");
  if (!is_literal_end(*tree, tree->child(root, 0)) || !is_literal_end(*tree, tree->child(root, 1))) {
    return evaluator.problem("the ends of a range in text are no plain values");
  }
  EvaluationReport report;
  const FeelValue value = evaluate(tree, {}, nullptr, report);
  const FeelRange* range = value.range();
  const auto ends = range != nullptr ? compare(range->start, range->end) : std::nullopt;
  if (!ends || *ends > 0) return evaluator.problem("the ends of the range are not in order");
  return value;
}

}  // namespace

std::span<const BuiltIn> range_functions() {
  static constexpr auto kFunctions = std::to_array<BuiltIn>({
      {"before", "point1,point2", before}, {"before", "point,range", before},
      {"before", "range,point", before}, {"before", "range1,range2", before},
      {"after", "point1,point2", after}, {"after", "point,range", after},
      {"after", "range,point", after}, {"after", "range1,range2", after},
      {"meets", "range1,range2", meets_it}, {"met by", "range1,range2", met_by},
      {"overlaps", "range1,range2", overlaps_it}, {"overlaps before", "range1,range2", overlaps_before_it},
      {"overlaps after", "range1,range2", overlaps_after_it},
      {"finishes", "point,range", finishes_it}, {"finishes", "range1,range2", finishes_it},
      {"finished by", "range,point", finished_by}, {"finished by", "range1,range2", finished_by},
      {"includes", "range,point", includes_it}, {"includes", "range1,range2", includes_it},
      {"during", "point,range", during}, {"during", "range1,range2", during},
      {"starts", "point,range", starts_it}, {"starts", "range1,range2", starts_it},
      {"started by", "range,point", started_by}, {"started by", "range1,range2", started_by},
      {"coincides", "point1,point2", coincides_it}, {"coincides", "range1,range2", coincides_it},
      {"is", "value1,value2", is}, {"range", "from", range_from},
  });
  return kFunctions;
}

}  // namespace kitgap
