#include "report/layout.h"
#include "report/report.h"

namespace kitgap {

std::string letters_text(const Report& report, int width) {
  if (report.ask_supplier.empty()) return "Nothing hangs on a supplier's answer.\n";
  const auto columns = static_cast<std::size_t>(width);
  std::string out;
  std::string supplier;
  std::string number;
  const auto close = [&] {
    if (!supplier.empty()) out += "\n" + paragraph("Please answer each with yes or no, or with the number of pieces. Thank you.", 0, columns) + "\n";
  };
  // The questions of a supplier stand together, and those about a number.
  for (const SupplierQuestion& question : report.ask_supplier) {
    const std::string of = question.supplier.empty() ? "whoever sold it" : question.supplier;
    if (of != supplier || out.empty()) {
      close();
      out += "To " + of + "\n\n" + paragraph("Before the work starts I have these questions about what you sell:", 0, columns);
      supplier = of;
      number.clear();
    }
    if (question.part_number != number) out += "\n" + paragraph(question.part_number, 0, columns);
    number = question.part_number;
    out += paragraph("- " + question.question, 2, columns);
  }
  close();
  return out;
}

}  // namespace kitgap
