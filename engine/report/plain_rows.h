#pragma once

#include <string>

#include "analyse/plain_rows.h"

namespace kitgap {

std::string plain_rows_text(const PlainRowsFindings& findings, int width);
std::string plain_rows_json(const PlainRowsFindings& findings);

}  // namespace kitgap
