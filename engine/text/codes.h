#pragma once

#include <array>
#include <string_view>

namespace kitgap::code {

// Every diagnostic code. A test lists the codes that no golden case shows, and must find none.
inline constexpr std::string_view kMissingFile = "missing-file";
inline constexpr std::string_view kNotAFile = "not-a-file";
inline constexpr std::string_view kEmptyFile = "empty-file";
inline constexpr std::string_view kBinaryFile = "binary-file";
inline constexpr std::string_view kTooLarge = "too-large";
inline constexpr std::string_view kInvalidUtf8 = "invalid-utf8";
inline constexpr std::string_view kUnterminatedQuote = "unterminated-quote";
inline constexpr std::string_view kWrongColumnCount = "wrong-column-count";
inline constexpr std::string_view kInvalidJson = "invalid-json";
inline constexpr std::string_view kTooDeep = "too-deep";
inline constexpr std::string_view kUnknownColumn = "unknown-column";
inline constexpr std::string_view kInvalidExpression = "invalid-expression";
inline constexpr std::string_view kUnknownName = "unknown-name";
inline constexpr std::string_view kUnknownValue = "unknown-value";
inline constexpr std::string_view kWriteAsRange = "write-as-range";

}  // namespace kitgap::code
