# Made from sumpgate's own parser; helper functions: shtab, MPL-2.0.


# Parse current commandline:
# - _shtab_sumpgate_cmdpath=(sub)command path seen so far
# - _shtab_sumpgate_npos=number of positional arguments given after it
# - options are skipped based on _shtab_sumpgate_opts_with_value & _shtab_sumpgate_commands lists
function _shtab_sumpgate_scan
  set -g _shtab_sumpgate_cmdpath ''
  set -g _shtab_sumpgate_npos 0
  set -l tokens (commandline -opc)
  set -e tokens[1]
  set -l expect_value 0
  for t in $tokens
    if test $expect_value -eq 1
      set expect_value 0
      continue
    end
    switch "$t"
      case '--*=*'
        continue
      case '-*'
        if contains -- $t $_shtab_sumpgate_opts_with_value
          set expect_value 1
        end
        continue
      case '*'
        if test $_shtab_sumpgate_npos -eq 0
          set -l candidate $t
          if test -n "$_shtab_sumpgate_cmdpath"
            set candidate "$_shtab_sumpgate_cmdpath $t"
          end
          if contains -- $candidate $_shtab_sumpgate_commands
            set -g _shtab_sumpgate_cmdpath $candidate
            continue
          end
        end
        set -g _shtab_sumpgate_npos (math $_shtab_sumpgate_npos + 1)
    end
  end
end

# Condition helper: true if the current (sub)command path equals the given one.
function _shtab_sumpgate_using
  _shtab_sumpgate_scan
  test "$_shtab_sumpgate_cmdpath" = "$argv"
end

set -g _shtab_sumpgate_commands live demo service bench replay sheet 'sheet list' 'sheet show' 'sheet check' 'sheet new' 'sheet schema' adapter report export job 'job list' 'job find' 'job history' 'job show' 'job check' 'job close' 'job compare' 'job delete' 'job add' find ports
set -g _shtab_sumpgate_opts_with_value --accuracy --adapter --answers --baud --confirm --control --csv --drained --faults --filled --for --format --from-log --hidden --interval --minutes --note --odometer --out --pace --paper --phone --phone-port --photo --pick --port --profile --protocol --ranges --record --scene --seconds --seed --session --speed --state --tcp --to --trace --units --who --window --wire-log --write --year

complete -c sumpgate -e
complete -c sumpgate -f

complete -c sumpgate -n _shtab_sumpgate_using -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n _shtab_sumpgate_using -l version -d 'show program'"'"'s version number and exit'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a live -d 'watch a car through an adapter'
complete -c sumpgate -n '_shtab_sumpgate_using live' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l port -x -d 'device, COMn, socket://host:port, rfcomm://ADDRESS or ble://NAME; default: the one of last time, else those found are tried ('"'"'sumpgate ports'"'"' shows them)'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l baud -x -d 'speed of a serial port, default auto: it is searched for'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l interval -x -d 'between two rounds of questions; 0: as fast as it goes (default 0.2)'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l thermometer -d 'readings typed in by hand: instead of an adapter, or beside --port'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l accuracy -x -d 'what the thermometer is good for in °C, plus or minus'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l infrared -d 'it measures without touching'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'sheet name or TOML file'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l service -d 'begin with the whole service'"'"'s steps'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l record -xka "(__fish_complete_path (commandline -ct))" -d 'write the job down there, or in the usual folder; goes on with a job file that is there already'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l no-record -d 'do not write the job down'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l start-over -d 'start a new job, even if another was not closed'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l odometer -x -d 'what it shows, for the record, such as "123456 km" or "76700 mi"'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l who -x -d 'who works on it, for the record'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l phone -x -d 'serve a page for the phone: to this computer only, or, with '"'"'lan'"'"' or an address of this computer, to the local network'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l phone-port -x -d 'the page'"'"'s port, default 8642; 0: any that is free'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l speak -d 'say the calls aloud with this system'"'"'s speech command'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l json -d 'no screen: one JSON object a line'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l plain -d 'no screen: one sentence for each change that matters, keys as typed lines; for screen readers and plain terminals'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l for -x -d 'end after so many seconds of the car'"'"'s time'
complete -c sumpgate -n '_shtab_sumpgate_using live' -l wire-log -xka "(__fish_complete_path (commandline -ct))" -d 'write down every byte to and from the adapter'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a demo -d 'the same on a simulated car'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l scene -x -d 'default cold-start'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l trace -xka "(__fish_complete_path (commandline -ct))" -d 'play a recorded curve as the fluid'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l speed -x -d 'times life, default 1'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l seed -x -d 'for what is random'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l faults -xka "(__fish_complete_path (commandline -ct))" -d 'TOML file of faults and their times'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'sheet name or TOML file'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l service -d 'begin with the whole service'"'"'s steps'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l record -xka "(__fish_complete_path (commandline -ct))" -d 'write the job down there, or in the usual folder; goes on with a job file that is there already'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l odometer -x -d 'what it shows, for the record, such as "123456 km" or "76700 mi"'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l who -x -d 'who works on it, for the record'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l phone -x -d 'serve a page for the phone: to this computer only, or, with '"'"'lan'"'"' or an address of this computer, to the local network'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l phone-port -x -d 'the page'"'"'s port, default 8642; 0: any that is free'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l speak -d 'say the calls aloud with this system'"'"'s speech command'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l json -d 'no screen: one JSON object a line'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l plain -d 'no screen: one sentence for each change that matters, keys as typed lines; for screen readers and plain terminals'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l for -x -d 'end after so many seconds of the car'"'"'s time'
complete -c sumpgate -n '_shtab_sumpgate_using demo' -l wire-log -xka "(__fish_complete_path (commandline -ct))" -d 'write down every byte to and from the adapter'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a service -d 'the steps of the whole service, with no car connected'
complete -c sumpgate -n '_shtab_sumpgate_using service' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'sheet name or TOML file'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l record -xka "(__fish_complete_path (commandline -ct))" -d 'write the job down there, or in the usual folder; goes on with a job file that is there already'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l no-record -d 'do not write the job down'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l start-over -d 'start a new job, even if another was not closed'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l odometer -x -d 'what it shows, for the record, such as "123456 km" or "76700 mi"'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l who -x -d 'who works on it, for the record'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l json -d 'no screen: one JSON object a line'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l plain -d 'no screen: one sentence for each change that matters, keys as typed lines; for screen readers and plain terminals'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l for -x -d 'end after so many seconds of the car'"'"'s time'
complete -c sumpgate -n '_shtab_sumpgate_using service' -l lines -d 'list the sheet'"'"'s words for typed lines'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a bench -d 'the simulated adapter alone'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l tcp -x -d 'serve on a TCP port'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l pty -d 'serve on a new pty'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l control -x -d 'take commands there, one a line'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l baud -x -d 'default 115200'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l from-log -xka "(__fish_complete_path (commandline -ct))" -d 'play a wire log back'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l adapter -x -d 'how the adapter talks: a name of docs/adapters.md, several joined with +, or mix:SEED'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l hidden -x -d 'a random gearbox unit nobody has a sheet for, to try find on'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'sheet name or TOML file'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l scene -x -d 'default cold-start'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l trace -xka "(__fish_complete_path (commandline -ct))" -d 'play a recorded curve as the fluid'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l speed -x -d 'times life, default 1'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l seed -x -d 'for what is random'
complete -c sumpgate -n '_shtab_sumpgate_using bench' -l faults -xka "(__fish_complete_path (commandline -ct))" -d 'TOML file of faults and their times'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a replay -d 'a recorded trace or job, as fast as it goes'
complete -c sumpgate -n '_shtab_sumpgate_using replay' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using replay' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'for a CSV; a job has its own'
complete -c sumpgate -n '_shtab_sumpgate_using replay' -l strict -d 'leave engine and standing unknown where the trace does not say'
complete -c sumpgate -n '_shtab_sumpgate_using replay' -l json -d 'no screen: one JSON object a line'
complete -c sumpgate -n '_shtab_sumpgate_using replay' -l for -x -d 'end after so many seconds of the car'"'"'s time'
complete -c sumpgate -n '_shtab_sumpgate_using replay; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'a job, or a CSV file with header time_s,temp_c'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a sheet -d 'list, show, check or write sheets'
complete -c sumpgate -n '_shtab_sumpgate_using sheet' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using sheet; and test $_shtab_sumpgate_npos -eq 0' -a list -d 'the sheets that come with the tool'
complete -c sumpgate -n '_shtab_sumpgate_using sheet list' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using sheet list' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using sheet; and test $_shtab_sumpgate_npos -eq 0' -a show -d 'what a sheet says, in your units'
complete -c sumpgate -n '_shtab_sumpgate_using sheet show' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using sheet show' -l toml -d 'the file as it is, to copy'
complete -c sumpgate -n '_shtab_sumpgate_using sheet show' -l out -xka "(__fish_complete_path (commandline -ct))" -d 'write it there, in UTF-8, instead of printing it'
complete -c sumpgate -n '_shtab_sumpgate_using sheet show' -l force -d 'write over a file that is there'
complete -c sumpgate -n '_shtab_sumpgate_using sheet show' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using sheet show; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'sheet name or TOML file'
complete -c sumpgate -n '_shtab_sumpgate_using sheet; and test $_shtab_sumpgate_npos -eq 0' -a check -d 'read it like a reviewer'
complete -c sumpgate -n '_shtab_sumpgate_using sheet check' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using sheet check' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using sheet check; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'sheet name or TOML file'
complete -c sumpgate -n '_shtab_sumpgate_using sheet; and test $_shtab_sumpgate_npos -eq 0' -a new -d 'Asks the few questions on the terminal and writes a sheet with comments. An empty answer leaves a figure out, < goes back.'
complete -c sumpgate -n '_shtab_sumpgate_using sheet new' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using sheet new' -l answers -xka "(__fish_complete_path (commandline -ct))" -d 'take the answers from there, one a line'
complete -c sumpgate -n '_shtab_sumpgate_using sheet new' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using sheet new; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'the file to write'
complete -c sumpgate -n '_shtab_sumpgate_using sheet; and test $_shtab_sumpgate_npos -eq 0' -a schema -d 'the format as a JSON Schema, for editors'
complete -c sumpgate -n '_shtab_sumpgate_using sheet schema' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using sheet schema' -l out -xka "(__fish_complete_path (commandline -ct))" -d 'write it there, in UTF-8, instead of printing it'
complete -c sumpgate -n '_shtab_sumpgate_using sheet schema' -l force -d 'write over a file that is there'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a adapter -d 'is this adapter fit for the job?'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l port -x -d 'device, COMn, socket://host:port, rfcomm://ADDRESS or ble://NAME; default: the one of last time, else those found are tried ('"'"'sumpgate ports'"'"' shows them)'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l baud -x -d 'speed of a serial port, default auto: it is searched for'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l protocol -xka "auto 1 2 3 4 5 6 7 8 9" -d 'the car'"'"'s, as the adapter'"'"'s digit (6 to 9: CAN); default auto'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'ask for this sheet'"'"'s fluid too'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l seconds -x -d 'how long to measure readings, default 10'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l wire-log -xka "(__fish_complete_path (commandline -ct))" -d 'write down every byte to and from the adapter'
complete -c sumpgate -n '_shtab_sumpgate_using adapter' -l json -d 'one JSON object'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a report -d 'a recorded job as a page to keep'
complete -c sumpgate -n '_shtab_sumpgate_using report' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l out -xka "(__fish_complete_path (commandline -ct))" -d 'default JOB.html in the folder you are in'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l pdf -d 'the same as PDF, beside the page'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l paper -xka "a4 letter" -d paper
complete -c sumpgate -n '_shtab_sumpgate_using report' -l to -xka "(__fish_complete_directories)" -d 'hand it on: page, PDF, tables, calendar file and the job, with checksums'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l anonymous -d 'leave the vehicle number out, and with --to the job itself'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l open -d 'show it in the browser'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l photos -d 'look whether the pictures the job names are still the same'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l force -d 'write over files that are there'
complete -c sumpgate -n '_shtab_sumpgate_using report' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using report; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a export -d 'a recorded job as CSV or JSON'
complete -c sumpgate -n '_shtab_sumpgate_using export' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using export' -l format -xka "csv json" -d format
complete -c sumpgate -n '_shtab_sumpgate_using export' -l out -xka "(__fish_complete_directories)" -d 'default: the one you are in'
complete -c sumpgate -n '_shtab_sumpgate_using export' -l force -d 'write over files that are there'
complete -c sumpgate -n '_shtab_sumpgate_using export; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a job -d 'list, show, check, compare, add to, delete'
complete -c sumpgate -n '_shtab_sumpgate_using job' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a list -d 'the jobs in the usual folder'
complete -c sumpgate -n '_shtab_sumpgate_using job list' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a find -d 'those of them a word occurs in'
complete -c sumpgate -n '_shtab_sumpgate_using job find' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a history -d 'all jobs of a car in one table'
complete -c sumpgate -n '_shtab_sumpgate_using job history' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job history' -l year -x -d 'only those begun in it (UTC)'
complete -c sumpgate -n '_shtab_sumpgate_using job history' -l csv -xka "(__fish_complete_path (commandline -ct))" -d 'write them there, in SI units'
complete -c sumpgate -n '_shtab_sumpgate_using job history' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using job history' -l force -d 'write over files that are there'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a show -d 'what is in a job, in short'
complete -c sumpgate -n '_shtab_sumpgate_using job show' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job show' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using job show' -l photos -d 'look whether the pictures the job names are still the same'
complete -c sumpgate -n '_shtab_sumpgate_using job show' -l full -d 'all of it, not its first page alone'
complete -c sumpgate -n '_shtab_sumpgate_using job show; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a check -d 'intact, changed or cut off?'
complete -c sumpgate -n '_shtab_sumpgate_using job check' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job check; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a close -d 'seal a job that was cut off'
complete -c sumpgate -n '_shtab_sumpgate_using job close' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job close; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a compare -d 'jobs on one car, side by side'
complete -c sumpgate -n '_shtab_sumpgate_using job compare' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job compare' -l units -xka "metric us" -d 'default: us where the screen was set to °F, else metric'
complete -c sumpgate -n '_shtab_sumpgate_using job compare; and test $_shtab_sumpgate_npos -ge 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a delete -d 'remove a job for good'
complete -c sumpgate -n '_shtab_sumpgate_using job delete' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job delete' -l yes -d 'do not ask'
complete -c sumpgate -n '_shtab_sumpgate_using job delete; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using job; and test $_shtab_sumpgate_npos -eq 0' -a add -d 'write something more into a job'
complete -c sumpgate -n '_shtab_sumpgate_using job add' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using job add' -l note -x -d TEXT
complete -c sumpgate -n '_shtab_sumpgate_using job add' -l photo -xka "(__fish_complete_path (commandline -ct))" -d 'by its path and SHA-256; the picture stays where it is'
complete -c sumpgate -n '_shtab_sumpgate_using job add' -l odometer -x -d 'such as "61200 km"'
complete -c sumpgate -n '_shtab_sumpgate_using job add' -l drained -x -d 'such as "4.2 L"'
complete -c sumpgate -n '_shtab_sumpgate_using job add' -l filled -x -d 'such as "4.4 qt"'
complete -c sumpgate -n '_shtab_sumpgate_using job add; and test $_shtab_sumpgate_npos -eq 0' -ka "(__fish_complete_path (commandline -ct))" -d 'name of a job ('"'"'sumpgate job list'"'"'), the beginning of one, '"'"'last'"'"', or a file'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a find -d 'look for the fluid temperature, reading only'
complete -c sumpgate -n '_shtab_sumpgate_using find' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l port -x -d 'device, COMn, socket://host:port, rfcomm://ADDRESS or ble://NAME; default: the one of last time, else those found are tried ('"'"'sumpgate ports'"'"' shows them)'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l baud -x -d 'port speed'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l ranges -x -d 'service and identifiers in hexadecimal, default '"'"'21:01-FF 22:0100-01FF 22:1000-1FFF'"'"''
complete -c sumpgate -n '_shtab_sumpgate_using find' -l units -x -d 'request ids such as 7E1; default: all but 7E0'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l protocol -xka "auto 6 7 8 9" -d 'the adapter'"'"'s digit for the CAN bus, default auto'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l session -xka "default extended" -d 'extended: ask each unit for an extended session first'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l pace -x -d 'questions a second at most, default 10'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l engine-on -d 'search while the engine runs'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l minutes -x -d 'how long to watch from the engine'"'"'s start, default 15'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l search-only -d 'do not watch'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l offline -d 'rank what the file holds, no adapter'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l accuracy -x -d 'what your thermometer is good for in °C, plus or minus, default 2'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l state -xka "(__fish_complete_path (commandline -ct))" -d 'where the search is kept'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l fresh -d 'forget what it holds'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l write -xka "(__fish_complete_path (commandline -ct))" -d 'write the sheet there'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l profile -xka "(__fish_complete_path (commandline -ct))" -d 'the sheet to add to'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l window -x -d 'without a sheet: the manual'"'"'s window'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l pick -x -d 'take the Nth, default 1'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l confirm -xka "(__fish_complete_path (commandline -ct))" -d 'compare a found signal with a thermometer'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l wire-log -xka "(__fish_complete_path (commandline -ct))" -d 'write down every byte to and from the adapter'
complete -c sumpgate -n '_shtab_sumpgate_using find' -l json -d 'one JSON object a line'
complete -c sumpgate -n '_shtab_sumpgate_using; and test $_shtab_sumpgate_npos -eq 0' -a ports -d 'what could be an adapter here'
complete -c sumpgate -n '_shtab_sumpgate_using ports' -s h -l help -d 'show this help message and exit'
complete -c sumpgate -n '_shtab_sumpgate_using ports' -l ble -d 'listen for Bluetooth Low Energy devices too'
complete -c sumpgate -n '_shtab_sumpgate_using ports' -l wifi -d 'try the usual Wi-Fi addresses too'
complete -c sumpgate -n '_shtab_sumpgate_using ports' -l json -d 'one JSON object'
