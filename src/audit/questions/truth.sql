-- Drills whose truth is at hand: what happened against what stands in the record.
select drill_way, month, count(*) as drills,
  cast(sum(truth_events) as bigint) as events,
  cast(sum(truth_recorded) as bigint) as recorded,
  cast(sum(truth_right) as bigint) as held,
  cast(sum(truth_in_time) as bigint) as in_time
from births
where mode = 'practice' and truth_events is not null
group by drill_way, month
order by drill_way, month
