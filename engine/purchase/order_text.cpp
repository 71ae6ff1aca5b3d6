#include "purchase/order_text.h"

#include <algorithm>
#include <vector>

#include "purchase/order_sheets.h"
#include "text/file.h"

namespace kitgap {
namespace {

std::string padded_left(const std::string& text, std::size_t width) {
  const std::size_t has = display_width(text);
  return has < width ? std::string(width - has, ' ') + text : text;
}

class OrderText {
 public:
  OrderText(const PurchaseProblem& problem, const Plan& plan, int width, const OrderNotes& notes)
      : problem_(problem), plan_(plan), notes_(notes), width_(static_cast<std::size_t>(std::max(40, width))), sheets_(order_sheets_of(problem, plan)) {}

  std::string run() {
    summary();
    if (!plan_.conflict.empty()) conflict();
    quantities("Not covered", plan_.uncovered);
    rows("Settle and order first", first_in_words(sheets_));
    for (const OrderSheet& sheet : sheets_) block(sheet);
    quantities("Left over", plan_.spare);
    covers();
    rows("What else could be done, and what it costs more", choices_in_words(plan_));
    rows("What each wish or term costs", terms_in_words(plan_));
    rows("What an answer could save, at most", savings_in_words(notes_));
    return std::move(out_);
  }

 private:
  // One sentence or row, broken at blanks, further lines indented.
  void say(const std::string& text, std::size_t indent = 0) {
    std::size_t column = 0;
    std::string line;
    std::string word;
    const auto flush = [&] {
      if (word.empty()) return;
      const std::size_t length = display_width(word);
      if (column > 0 && column + 1 + length > width_) {
        out_ += line + "\n";
        line = std::string(indent + 2, ' ');
        column = indent + 2;
      } else if (column > 0) {
        line += " ";
        ++column;
      } else {
        line = std::string(indent, ' ');
        column = indent;
      }
      line += word;
      column += length;
      word.clear();
    };
    for (const char c : printable(text)) {
      if (c == ' ') {
        flush();
      } else {
        word += c;
      }
    }
    flush();
    out_ += line + "\n";
  }

  void summary() {
    if (plan_.buy.empty()) {
      say(plan_.status == PlanStatus::NothingCovers ? "Nothing to buy: no offer covers any need." : "Nothing to buy.");
    } else {
      const auto parcels = static_cast<std::size_t>(std::ranges::count_if(sheets_, &OrderSheet::is_shop));
      const std::string currency = notes_.currency.empty() ? "" : " " + notes_.currency;
      say("To buy: " + plan_.total.to_text() + currency + " in all (goods " + plan_.goods.to_text() + ", shipping " +
          plan_.shipping.to_text() + "), " + std::to_string(parcels) + (parcels == 1 ? " parcel." : " parcels."));
    }
    if (const std::string rates = rates_in_words(notes_); !rates.empty()) say(rates);
    for (const std::string& sentence : proof_in_words(plan_)) say(sentence);
  }

  void conflict() {
    std::string words;
    for (const std::string& constraint : plan_.conflict) words += (words.empty() ? "" : ", ") + constraint;
    say("Cannot hold together with all needs: " + words + ". The rest is planned.");
  }

  void quantities(const std::string& title, const std::vector<ItemQuantity>& quantities) {
    if (quantities.empty()) return;
    out_ += "\n" + title + "\n";
    for (const ItemQuantity& quantity : quantities) say(quantity.quantity.to_text() + " " + item_in_words(notes_, quantity.item), 2);
  }

  void block(const OrderSheet& sheet) {
    out_ += "\n";
    say(sheet.supplier);
    std::size_t packs_width = 1;
    std::size_t cost_width = 1;
    for (const OrderSheetLine& line : sheet.lines) {
      packs_width = std::max(packs_width, std::to_string(line.packs).size());
      cost_width = std::max(cost_width, line.cost.to_text().size());
    }
    for (const OrderSheetLine& line : sheet.lines) {
      out_ += "  " + padded_left(std::to_string(line.packs), packs_width) + " x " + printable(line.part_number) + "  " +
              line.price.to_text() + " each  " + padded_left(line.cost.to_text(), cost_width) + "\n";
      say((line.is_kit ? "kit of " : "holds ") + line.contents, packs_width + 5);
      if (!line.says.empty()) say(line.says, packs_width + 5);
    }
    say("goods " + sheet.goods.to_text() + ", shipping " + sheet.shipping.to_text() +
            (sheet.free_from ? " (free from " + sheet.free_from->to_text() + ")" : "") + ": " + sheet.total.to_text(),
        2);
  }

  void covers() {
    const std::vector<Purpose> purposes = purposes_of(problem_, plan_, notes_);
    if (!purposes.empty()) out_ += "\nWhat it is for\n";
    for (const Purpose& purpose : purposes) {
      say(purpose.what, 2);
      say(purpose.places, 6);
    }
  }

  void rows(const std::string& title, const std::vector<std::string>& rows) {
    if (rows.empty()) return;
    out_ += "\n" + title + "\n";
    for (const std::string& row : rows) say(row, 2);
  }

  const PurchaseProblem& problem_;
  const Plan& plan_;
  const OrderNotes& notes_;
  std::size_t width_;
  std::vector<OrderSheet> sheets_;
  std::string out_;
};

}  // namespace

std::string order_text(const PurchaseProblem& problem, const Plan& plan, int width, const OrderNotes& notes) {
  return OrderText(problem, plan, width, notes).run();
}

}  // namespace kitgap
