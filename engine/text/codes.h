#pragma once

#include <array>
#include <string_view>

namespace kitgap::code {

// Every diagnostic code. A test lists the codes that no golden case shows, and must find none.
inline constexpr std::string_view kMissingFile = "missing-file";
inline constexpr std::string_view kNotAFile = "not-a-file";
inline constexpr std::string_view kEmptyFile = "empty-file";
inline constexpr std::string_view kBinaryFile = "binary-file";
inline constexpr std::string_view kDamagedWorkbook = "damaged-workbook";
inline constexpr std::string_view kTooLarge = "too-large";
inline constexpr std::string_view kInvalidUtf8 = "invalid-utf8";
inline constexpr std::string_view kUnterminatedQuote = "unterminated-quote";
inline constexpr std::string_view kStrayQuote = "stray-quote";
inline constexpr std::string_view kStrayCarriageReturn = "stray-carriage-return";
inline constexpr std::string_view kNotCommaSeparated = "not-comma-separated";
inline constexpr std::string_view kUnnamedColumn = "unnamed-column";
inline constexpr std::string_view kDuplicateColumn = "duplicate-column";
inline constexpr std::string_view kWrongColumnCount = "wrong-column-count";
inline constexpr std::string_view kInvalidJson = "invalid-json";
inline constexpr std::string_view kDuplicateKey = "duplicate-key";
inline constexpr std::string_view kMissingMember = "missing-member";
inline constexpr std::string_view kInvalidMember = "invalid-member";
inline constexpr std::string_view kUnknownMember = "unknown-member";
inline constexpr std::string_view kTooDeep = "too-deep";
inline constexpr std::string_view kUnknownColumn = "unknown-column";
inline constexpr std::string_view kInvalidExpression = "invalid-expression";
inline constexpr std::string_view kUnknownName = "unknown-name";
inline constexpr std::string_view kUnknownValue = "unknown-value";
inline constexpr std::string_view kWriteAsRange = "write-as-range";
inline constexpr std::string_view kNewerFormat = "newer-format";
inline constexpr std::string_view kInvalidManifest = "invalid-manifest";
inline constexpr std::string_view kUnknownKind = "unknown-table-kind";
inline constexpr std::string_view kUnknownPart = "unknown-part";
inline constexpr std::string_view kUnknownPosition = "unknown-position";
inline constexpr std::string_view kUnknownFact = "unknown-fact";
inline constexpr std::string_view kUnknownOffer = "unknown-offer";
inline constexpr std::string_view kUnknownStep = "unknown-step";
inline constexpr std::string_view kMissingColumn = "missing-column";
inline constexpr std::string_view kMissingCell = "missing-cell";
inline constexpr std::string_view kInvalidCell = "invalid-cell";
inline constexpr std::string_view kUnitMismatch = "unit-mismatch";
inline constexpr std::string_view kNegativeQuantity = "negative-quantity";
inline constexpr std::string_view kAbsurdQuantity = "absurd-quantity";
inline constexpr std::string_view kInvalidPattern = "invalid-pattern";
inline constexpr std::string_view kContradiction = "contradiction";
inline constexpr std::string_view kCycle = "cycle";

}  // namespace kitgap::code
