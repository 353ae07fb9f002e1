-- Head to body of each record, in whole seconds, counted by value; seconds are null where it is not known.
select mode, unit, month, head_to_body_state as state, head_to_body_s as seconds, count(*) as n
from births
group by mode, unit, month, head_to_body_state, head_to_body_s
order by mode, unit, month, head_to_body_state, head_to_body_s
