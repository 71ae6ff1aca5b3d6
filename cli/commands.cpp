#include "commands.h"

namespace kitgap {

// Each is defined in the file of its name (`rules check` in rules_check.cpp).
Command start_command();
Command check_command();
Command counts_command();
Command order_command();
Command receive_command();
Command why_command();
Command why_not_command();
Command salvage_command();
Command verify_command();
Command cut_command();
Command job_backup_command();
Command job_correct_command();
Command job_export_command();
Command job_gate_command();
Command job_history_command();
Command job_import_command();
Command job_record_command();
Command job_restore_command();
Command job_step_command();
Command job_take_command();
Command job_verify_command();
Command found_command();
Command ready_command();
Command years_command();
Command rules_check_command();
Command rules_totals_command();
Command rules_try_command();
Command eval_command();
Command sweep_command();

std::vector<Command> all_commands() {
  return {
      start_command(),
      check_command(),
      salvage_command(),
      counts_command(),
      order_command(),
      receive_command(),
      why_command(),
      why_not_command(),
      verify_command(),
      cut_command(),
      job_backup_command(),
      job_correct_command(),
      job_export_command(),
      job_gate_command(),
      job_history_command(),
      job_import_command(),
      job_record_command(),
      job_restore_command(),
      job_step_command(),
      job_take_command(),
      job_verify_command(),
      found_command(),
      ready_command(),
      years_command(),
      rules_check_command(),
      rules_totals_command(),
      rules_try_command(),
      eval_command(),
      sweep_command(),
  };
}

}  // namespace kitgap
